package web

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"buttonup/measure"
	"buttonup/quantity"
)

// TestWithoutTheComputerInABrowser drives what the bench does while the shop's computer
// cannot be reached; what is checked stands in browser/rest.mjs.
func TestWithoutTheComputerInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	cases := filepath.Join(t.TempDir(), "slips.json")
	if err := os.WriteFile(cases, slipCases(t), 0o600); err != nil {
		t.Fatal(err)
	}
	checkInBrowser(t, nil, "rest.mjs", serveDemo(t), cases)
}

// slipCases are readings with what FindSlip says of each: the script on the phone must
// ask the same. Figures on the very edge of a width are left out, where binary fractions
// of two units may differ.
func slipCases(t *testing.T) []byte {
	t.Helper()
	type typed struct {
		Value   float64 `json:"value"`
		Unit    string  `json:"unit"`
		Figures string  `json:"figures"`
	}
	type one struct {
		Typed  typed           `json:"typed"`
		About  json.RawMessage `json:"about"`
		Others []float64       `json:"others"`
		Want   string          `json:"want"`
	}
	limits := []struct {
		unit             string
		limits           measure.Limits
		around, decimals float64
	}{
		{"mm", measure.Limits{New: band("92.000 .. 92.013 mm"), Limit: band("<= 92.090 mm"), NonNegative: true}, 92, 3},
		{"mm", measure.Limits{New: band("0.03 .. 0.08 mm"), Limit: band("<= 0.12 mm"), NonNegative: true}, 0.06, 3},
		{"in", measure.Limits{New: band("3.6220 .. 3.6225 in"), Limit: band("<= 3.6256 in"), NonNegative: true}, 3.622, 4},
		{"thou", measure.Limits{Limit: band("<= 4 thou"), NonNegative: true}, 2, 1},
		{"mm", measure.Limits{}, 30, 2},
	}
	r := rand.New(rand.NewPCG(11, 12))
	var list []one
	for len(list) < 400 {
		l := limits[r.IntN(len(limits))]
		u := quantity.MustUnit(l.unit)
		factor := []float64{1, 1, 1 / 25.4, 25.4, 1e-3, 1e3, 1 / 25.4e-3, 40, 1.2}[r.IntN(9)]
		text := quantity.FormatNumber(l.around*factor*(1+(r.Float64()-0.5)*0.01), int(l.decimals))
		q, err := quantity.Parse(text + " " + l.unit)
		if err != nil {
			t.Fatal(err)
		}
		var others, si []float64
		for range r.IntN(4) {
			x := l.around * (1 + (r.Float64()-0.5)*0.002)
			others, si = append(others, x), append(si, u.SI(x))
		}
		slip, odd := measure.FindSlip(q.SI, u, l.limits, si)
		near := false
		for _, nudge := range []float64{1 - 1e-9, 1 + 1e-9} {
			if s, o := measure.FindSlip(q.SI*nudge, u, l.limits, si); o != odd || s.Kind != slip.Kind {
				near = true
			}
		}
		if near {
			continue
		}
		want := "nothing"
		switch {
		case odd && slip.HasMeant:
			want = "meant " + meant(slip, text+" "+l.unit, q)
		case odd && slip.Kind == measure.JumpToNeighbour:
			want = "jump"
		case odd:
			want = "far"
		}
		list = append(list, one{typed{u.In(q.SI), l.unit, text}, json.RawMessage(slipData(l.limits, u)), append([]float64{}, others...), want})
	}
	b, err := json.Marshal(list)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func band(text string) quantity.Range {
	r, err := quantity.ParseRange(text)
	if err != nil {
		panic(fmt.Sprint(text, ": ", err))
	}
	return r
}
