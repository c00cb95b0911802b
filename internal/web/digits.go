package web

import (
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/measure"
	"buttonup/words"
)

// digits is how a reading is typed by its last digits alone: a gauge set to 92 mm shows
// "47", and 92.047 is meant.
type digits struct {
	// On says that this device types so.
	On bool
	// Near is the reading to be expected, in steps of the last decimal; below zero there
	// is none, and every reading is typed whole.
	Near     int64
	Decimals int
}

const cookieDigits = "buttonup_digits"

// expect finds the reading to be expected: the middle one of the set, else the middle of
// what the part should have.
func (e *entryView) expect(r *http.Request, limits measure.Limits, decimals int) {
	e.Digits = digits{Near: -1, Decimals: decimals}
	if c, err := r.Cookie(cookieDigits); err == nil {
		e.Digits.On = c.Value == "last"
	}
	var read []float64
	for i := range e.Slots {
		if e.Slots[i].Filled {
			read = append(read, e.Slots[i].Of.Value)
		}
	}
	near := math.NaN()
	switch {
	case len(read) > 0:
		slices.Sort(read)
		near = read[len(read)/2]
	case limits.New.HasLow && limits.New.HasHigh:
		near = (limits.New.Low + limits.New.High) / 2
	case limits.New.HasHigh:
		near = limits.New.High
	case limits.Limit.HasLow && limits.Limit.HasHigh:
		near = (limits.Limit.Low + limits.Limit.High) / 2
	}
	if steps := e.Unit.In(near) * math.Pow10(decimals); decimals >= 2 && steps >= 1 && steps < 1e12 {
		e.Digits.Near = int64(math.Round(steps))
	}
}

// whole completes what was typed to the reading nearest the expected one that ends in
// those digits. A number with a point or a unit, or with more digits than stand behind
// the point, is whole already.
func (d digits) whole(text string) (string, *words.Sentence) {
	text = strings.TrimSpace(text)
	if !d.On || d.Near < 0 || text == "" || len(text) > d.Decimals || strings.Trim(text, "0123456789") != "" {
		return text, nil
	}
	last, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return text, nil
	}
	places := int64(math.Pow10(len(text)))
	below := d.Near - d.Near%places + last
	if below > d.Near {
		below -= places
	}
	above := below + places
	switch toBelow, toAbove := d.Near-below, above-d.Near; {
	case below < 0 || toAbove < toBelow:
		return d.text(above), nil
	case toAbove == toBelow && below >= 0:
		return text, &words.Sentence{Says: "“" + text + "” could be " + d.text(below) + " or " + d.text(above) + ".", Do: "Type one digit more, or the whole number."}
	}
	return d.text(below), nil
}

func (d digits) text(steps int64) string {
	text := strconv.FormatInt(steps, 10)
	if short := d.Decimals + 1 - len(text); short > 0 {
		text = strings.Repeat("0", short) + text
	}
	return text[:len(text)-d.Decimals] + "." + text[len(text)-d.Decimals:]
}

// remember keeps on this device how readings are typed.
func (d digits) remember(w http.ResponseWriter) {
	value := "whole"
	if d.On {
		value = "last"
	}
	http.SetCookie(w, &http.Cookie{Name: cookieDigits, Value: value, Path: "/", MaxAge: 400 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
}
