package web

import (
	"fmt"
	"testing"
)

func TestLastDigitsAreCompletedToTheNearestReading(t *testing.T) {
	// Expected reading, in steps; decimals; typed; meant. "" is a question.
	cases := []struct {
		near     int64
		decimals int
		typed    string
		want     string
	}{
		{92006, 3, "47", "92.047"},
		{92006, 3, "103", "92.103"},
		{92006, 3, "9", "92.009"},
		{92006, 3, "98", "91.998"}, // just under the round number
		{91998, 3, "003", "92.003"},
		{91998, 3, "03", "92.003"},
		{36222, 4, "25", "3.6225"},
		{36222, 4, "6238", "3.6238"},
		{55, 3, "48", "0.048"},
		{15, 3, "9", "0.019"}, // nearer than 0.009
		{8, 3, "58", "0.058"}, // nothing is below zero
		{92006, 3, "56", ""},  // as far from 91.956 as from 92.056
		{92006, 3, "92.047", "92.047"},
		{92006, 3, "3.62 in", "3.62 in"},
		{92006, 3, "92047", "92047"}, // more digits than stand behind the point: asked about as ever
		{92006, 3, "-5", "-5"},
		{92006, 3, "", ""},
		{-1, 3, "47", "47"}, // nothing is expected
	}
	for _, c := range cases {
		got, doubt := digits{On: true, Near: c.near, Decimals: c.decimals}.whole(c.typed)
		if doubt != nil {
			got = ""
		}
		if got != c.want {
			t.Errorf("%q near %d is %q, %v; want %q", c.typed, c.near, got, doubt, c.want)
		}
	}
	if got, _ := (digits{Near: 92006, Decimals: 3}).whole("47"); got != "47" {
		t.Errorf("switched off, %q", got)
	}
}

// Whatever lies within half of what the typed digits can say is found again.
func TestLastDigitsFindTheReading(t *testing.T) {
	for n, places := range []int64{1, 10, 100, 1000} {
		for near := int64(1); near < 100_000 && n > 0; near += 37 {
			d := digits{On: true, Near: near, Decimals: 3}
			for off := -(places - 1) / 2; off <= (places-1)/2; off += max(1, places/50) {
				read := near + off
				if read < 0 {
					continue
				}
				typed := fmt.Sprintf("%0*d", n, read%places)
				if got, doubt := d.whole(typed); doubt != nil || got != d.text(read) {
					t.Fatalf("%q for %d near %d came back as %s, %v", typed, read, near, got, doubt)
				}
			}
		}
	}
}
