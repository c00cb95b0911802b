package parts

import (
	"fmt"
	"regexp"
	"strings"
)

// Money is an amount in hundredths of a currency. It is never a float: 0.10 added ten
// times is 1.00.
type Money struct {
	Hundredths int64
	// Currency is a short word such as "GBP", "" where none is named.
	Currency string
}

var (
	amount   = regexp.MustCompile(`^(\d{1,12})(?:\.(\d{1,2}))?$`)
	currency = regexp.MustCompile(`^[A-Z]{3}$`)
)

// ParseMoney reads an amount such as "18.40", with its currency behind it ("18.40 GBP")
// or given apart. A comma, a sign of money and more than two decimals are refused: what
// they mean differs from place to place.
func ParseMoney(text, of string) (Money, error) {
	number, behind, _ := strings.Cut(strings.TrimSpace(text), " ")
	if behind = strings.TrimSpace(behind); behind != "" {
		if of != "" && of != behind {
			return Money{}, fmt.Errorf("the amount %q is in %s, and the currency given is %s: correct one of them", text, behind, of)
		}
		of = behind
	}
	m := amount.FindStringSubmatch(number)
	if m == nil {
		return Money{}, fmt.Errorf("%q is no amount of money: write it like 18.40, with a point, and the currency apart", text)
	}
	if of != "" && !currency.MatchString(of) {
		return Money{}, fmt.Errorf("%q is no currency: write its three capital letters, like GBP", of)
	}
	out := Money{Currency: of}
	for _, c := range m[1] + (m[2] + "00")[:2] {
		out.Hundredths = 10*out.Hundredths + int64(c-'0')
	}
	return out, nil
}

// Amount is the amount without its currency, with two decimals.
func (m Money) Amount() string {
	sign, n := "", m.Hundredths
	if n < 0 {
		sign, n = "-", -n
	}
	return fmt.Sprintf("%s%d.%02d", sign, n/100, n%100)
}

// String is the amount with its currency.
func (m Money) String() string { return strings.TrimSpace(m.Amount() + " " + m.Currency) }
