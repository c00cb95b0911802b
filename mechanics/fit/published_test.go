package fit

import (
	"math"
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/quantity"
)

func size(t *testing.T, text string) quantity.Length {
	t.Helper()
	q, err := quantity.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if q.Dimension != quantity.OfLength {
		t.Fatalf("%s is a %v", text, q.Dimension)
	}
	return quantity.Length(q.SI)
}

func micrometres(l quantity.Length) float64 { return float64(l) * 1e6 }

// Every file under testdata/published is tested by its columns, and a file with
// other columns fails.
func TestPublished(t *testing.T) {
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		columns := strings.Join(f.Columns, " ")
		for _, row := range f.Rows {
			at := func(err error) {
				if err != nil {
					t.Fatalf("%s:%d: %v", f.Path, row.Line, err)
				}
			}
			switch {
			case columns == "size class lower upper":
				lower, upper, err := Deviations(size(t, row.In["size"]), row.In["class"])
				at(err)
				f.Compare(t, row, "lower", micrometres(lower))
				f.Compare(t, row, "upper", micrometres(upper))
			case columns == "size class which deviation":
				lower, upper, err := Deviations(size(t, row.In["size"]), row.In["class"])
				at(err)
				got, ok := map[string]quantity.Length{"EI": lower, "ei": lower, "ES": upper, "es": upper}[row.In["which"]]
				if !ok {
					t.Fatalf("%s:%d: %q is no deviation", f.Path, row.Line, row.In["which"])
				}
				f.Compare(t, row, "deviation", micrometres(got))
			case columns == "size hole shaft min max":
				low, high, err := Clearance(size(t, row.In["size"]), row.In["hole"], row.In["shaft"])
				at(err)
				f.Compare(t, row, "min", micrometres(low))
				f.Compare(t, row, "max", micrometres(high))
			case columns == "size e f g n p":
				for _, letter := range []string{"e", "f", "g", "n", "p"} {
					lower, upper, err := Deviations(size(t, row.In["size"]), letter+"6")
					at(err)
					if letter < "h" {
						lower = upper
					}
					f.Compare(t, row, letter, micrometres(lower))
				}
			case columns == "size K M N": // before Δ is added
				mm, err := nominal(size(t, row.In["size"]))
				at(err)
				for _, letter := range []string{"K", "M", "N"} {
					c, err := parseClass(letter + "7")
					at(err)
					ei, _ := c.fundamental(mm)
					f.Compare(t, row, letter, -ei)
				}
			case columns == "from to i IT6 IT7 IT8":
				from, to := size(t, row.In["from"]), size(t, row.In["to"])
				f.Compare(t, row, "i", unit(math.Sqrt(from.Millimetres()*to.Millimetres())))
				for _, grade := range []string{"IT6", "IT7", "IT8"} {
					width, err := Tolerance(to, grade)
					at(err)
					f.Compare(t, row, grade, micrometres(width))
				}
			case strings.HasPrefix(columns, "size IT3 "): // the columns of Δ
				for n := 3; n <= 8; n++ {
					mm, err := nominal(size(t, row.In["size"]))
					at(err)
					f.Compare(t, row, "IT"+gradeText(n), delta(mm, n))
				}
			case strings.HasPrefix(columns, "size IT"):
				for _, grade := range f.Columns[f.Inputs:] {
					width, err := Tolerance(size(t, row.In["size"]), grade)
					at(err)
					f.Compare(t, row, grade, micrometres(width))
				}
			default:
				t.Fatalf("%s: nothing tests the columns %s", f.Path, columns)
			}
		}
	}
}
