package parts

import (
	"strings"

	"buttonup/pack"
)

// NumberAdvice is what a stamped engine number says of a part. Numbers are advice:
// cases get swapped and engines rebuilt, so a feature to look at goes before it.
type NumberAdvice struct {
	Engine, Range string
	Outside       bool
	// Look is what to look at instead.
	Look string
}

// adviceOf compares the engine number with those that a part is listed for; nil where
// they cannot be compared.
func adviceOf(p *pack.Part, number string) *NumberAdvice {
	if p.Engines == "" || number == "" {
		return nil
	}
	inside, ok := InNumbers(p.Engines, number)
	if !ok {
		return nil
	}
	return &NumberAdvice{Engine: number, Range: p.Engines, Outside: !inside, Look: p.Look}
}

// InNumbers reports whether an engine number lies in a range such as "A10001 .. A14388",
// "B20001 .." or ".. A14388", ends included. Numbers are compared when they begin with
// the same letters; otherwise the second result is false.
func InNumbers(numbers, engine string) (inside, comparable bool) {
	low, high, isRange := strings.Cut(numbers, "..")
	if !isRange {
		low, high = numbers, numbers
	}
	series, n, ok := splitNumber(engine)
	if !ok {
		return false, false
	}
	inside = true
	for i, end := range []string{low, high} {
		if end = strings.TrimSpace(end); end == "" {
			continue
		}
		s, k, ok := splitNumber(end)
		if !ok || s != series {
			return false, false
		}
		comparable = true
		c := compareNumbers(n, k)
		inside = inside && (i == 0 && c >= 0 || i == 1 && c <= 0)
	}
	return inside && comparable, comparable
}

// splitNumber parts an engine number into the letters it begins with, in capitals,
// and its digits without leading zeros.
func splitNumber(text string) (letters, digits string, ok bool) {
	text = strings.ToUpper(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '.' || r == '/' {
			return -1
		}
		return r
	}, text))
	i := strings.IndexAny(text, "0123456789")
	if i < 0 || strings.Trim(text[i:], "0123456789") != "" {
		return "", "", false
	}
	return text[:i], strings.TrimLeft(text[i:], "0"), true
}

func compareNumbers(a, b string) int {
	if len(a) != len(b) {
		return len(a) - len(b)
	}
	return strings.Compare(a, b)
}
