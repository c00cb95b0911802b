package basket

// reasons lists all that could be lifted, in the order in which it is kept if either
// would do: rather a rule than what is in hand.
func (p *Problem) reasons() []Reason {
	var list []Reason
	if p.Within > 0 {
		list = append(list, Reason{Kind: BecauseLead})
	}
	for i, s := range p.Suppliers {
		if s.Refused {
			list = append(list, Reason{BecauseSupplier, i})
		}
	}
	for i := range p.Rules {
		list = append(list, Reason{BecauseRule, i})
	}
	for i := range p.Agreements {
		list = append(list, Reason{BecauseSizes, i})
	}
	for i := range p.InHand {
		list = append(list, Reason{BecauseInHand, i})
	}
	for i := range p.Places {
		list = append(list, Reason{BecausePlace, i})
	}
	return list
}
