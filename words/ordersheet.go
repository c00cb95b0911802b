package words

import (
	"strconv"

	"buttonup/assess"
)

// OrderColumn is a column of an order as it goes to a seller.
type OrderColumn struct {
	Title         string
	Number, Money bool
	Width         int
}

// OrderColumns are the columns of an order, the seller's own number first.
func OrderColumns(currency string) []OrderColumn {
	in := ""
	if currency != "" {
		in = " (" + currency + ")"
	}
	return []OrderColumn{
		{Title: "Your number", Width: 18}, {Title: "What", Width: 44}, {Title: "Maker's number", Width: 16},
		{Title: "How many", Number: true, Width: 9}, {Title: "Pieces in one", Number: true, Width: 12},
		{Title: "Price of one" + in, Money: true, Width: 16}, {Title: "Amount" + in, Money: true, Width: 14}, {Title: "Days", Number: true, Width: 7},
	}
}

// OrderRows are the lines of one seller's order.
func OrderRows(l *assess.OrderList, seller string) [][]string {
	var rows [][]string
	for _, x := range l.Lines {
		if x.Supplier == seller {
			rows = append(rows, []string{x.Number, x.Title, x.Part, strconv.Itoa(x.Packs), strconv.Itoa(x.Pack), x.Price.Amount(), x.Amount.Amount(), strconv.Itoa(x.LeadDays)})
		}
	}
	for _, s := range l.Sellers {
		if s.Name == seller && s.Shipping.Hundredths > 0 {
			rows = append(rows, []string{"", "Shipping", "", "", "", "", s.Shipping.Amount(), ""})
		}
		if s.Name == seller {
			rows = append(rows, []string{"", "Together", "", "", "", "", s.Total.Amount(), ""})
		}
	}
	return rows
}
