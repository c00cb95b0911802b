package basket

// Cover chooses sets so that each of the numbers 0 to n − 1 is in at least one of
// them, at the least sum of costs: the covering problem by itself, solved as the
// basket that it is, with every set a kit. Costs may not be below zero. It returns the
// indexes of the chosen sets; there are none where a number is in no set.
func Cover(n int, sets [][]int, costs []int64) ([]int, Result, error) {
	p := &Problem{Places: make([]Place, n), Suppliers: make([]Supplier, 1)}
	for i, set := range sets {
		var part Part
		for _, k := range set {
			part.Contents = append(part.Contents, Content{Places: []int{k}})
		}
		p.Parts = append(p.Parts, part)
		p.Offers = append(p.Offers, Offer{Part: i, Price: costs[i]})
	}
	r, err := Solve(p)
	var chosen []int
	for _, b := range r.Buy {
		chosen = append(chosen, b.Offer)
	}
	return chosen, r, err
}
