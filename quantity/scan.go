package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// scanner walks the text of one quantity.
type scanner struct {
	text string
	pos  int
}

// number is a number as written, before its unit is known.
type number struct {
	value    float64
	mantissa int64 // digits without the point, when small
	decimals int   // -1 for a fraction
	small    bool  // the mantissa is exact and short
	exponent bool
}

// in gives the number its unit. Short decimals in units with a short decimal
// factor convert with one rounding.
func (n number) in(u Unit) Quantity {
	si := u.SI(n.value)
	if n.small && u.whole != 0 && u.Zero == 0 {
		si = float64(n.mantissa*u.whole) / pow10(n.decimals+u.shift)
	}
	return Quantity{Value{si, u.Dimension}, u, n.decimals}
}

// difference is the number taken as a difference in the unit.
func (n number) difference(u Unit) float64 {
	u.Zero = 0
	return n.in(u).SI
}

func pow10(n int) float64 {
	if n >= 0 && n < len(powers) {
		return powers[n]
	}
	return math.Pow10(n)
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

func (s *scanner) check() error {
	switch {
	case s.text == "":
		return refuse(s.text, "nothing is written here", `write a value with its unit, like "92.004 mm"`)
	case len(s.text) > longestText:
		return refuse(s.text, "this is "+strconv.Itoa(len(s.text))+" characters long, and no value is", `write a value with its unit, like "92.004 mm"`)
	case !utf8.ValidString(s.text):
		return refuse("", "this is not readable text (invalid UTF-8)", "type it again")
	}
	return nil
}

func (s *scanner) rest() string          { return s.text[s.pos:] }
func (s *scanner) at(prefix string) bool { return strings.HasPrefix(s.rest(), prefix) }

func (s *scanner) skip(prefix string) bool {
	if s.at(prefix) {
		s.pos += len(prefix)
		return true
	}
	return false
}

func (s *scanner) space() {
	for s.pos < len(s.text) && (s.text[s.pos] == ' ' || s.text[s.pos] == '\t') || s.at("\u00a0") || s.at("\u202f") {
		_, n := utf8.DecodeRuneInString(s.rest())
		s.pos += n
	}
}

func (s *scanner) plusMinus() bool { return s.skip("±") || s.skip("+/-") || s.skip("+-") }

// A number outside these is refused, so that no product with the factor of a unit,
// however it is put together, leaves the range of float64.
const largest, smallest = 1e30, 1e-30

// mostDecimals shows fifteen figures of the smallest number.
const mostDecimals = 45

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func (s *scanner) digit(i int) bool { return i < len(s.text) && isDigit(s.text[i]) }

// number reads "92.004", ".0015", "7/64", "1-1/2", "11.9e-6".
func (s *scanner) number() (number, error) {
	start := s.pos
	negative := false
	switch {
	case s.skip("-"), s.skip("−"):
		negative = true
	case s.skip("+"):
	}
	digits := s.pos
	var n number
	var count int
	n.small = true
	for ; s.digit(s.pos); s.pos++ {
		n.mantissa = n.mantissa*10 + int64(s.text[s.pos]-'0')
		if count++; count > 15 {
			n.small = false
			n.mantissa = 0
		}
	}
	whole := s.pos > digits
	if s.pos < len(s.text) && s.text[s.pos] == '.' && s.digit(s.pos+1) {
		for s.pos++; s.digit(s.pos); s.pos++ {
			n.mantissa = n.mantissa*10 + int64(s.text[s.pos]-'0')
			n.decimals++
			if count++; count > 15 {
				n.small = false
				n.mantissa = 0
			}
		}
	} else if whole && s.at(".") && !s.at("..") {
		s.pos++ // "92. mm"
	}
	if s.pos < len(s.text) && s.text[s.pos] == ',' && s.digit(s.pos+1) {
		return n, refuse(s.text, quote(s.text)+" has a comma, and whether it marks decimals or thousands is never guessed", "write a decimal point, and thousands without a mark")
	}
	if !whole && n.decimals == 0 {
		if start == 0 && s.pos == 0 {
			return n, s.noNumber()
		}
		return n, refuse(s.text, "a number is missing in "+quote(s.text), `write it like "92.004 mm" or "1.0 .. 1.5 mm"`)
	}
	mantissa := s.text[digits:s.pos]
	decimal := mantissa
	if s.pos < len(s.text) && (s.text[s.pos] == 'e' || s.text[s.pos] == 'E') {
		end := s.pos + 1
		if end < len(s.text) && (s.text[end] == '+' || s.text[end] == '-') {
			end++
		}
		if s.digit(end) {
			for s.digit(end) {
				end++
			}
			decimal = s.text[digits:end]
			power, _ := strconv.Atoi(s.text[s.pos+1 : end])
			power = min(max(power, -99), 99)      // only a zero may have more: 0e-9999
			n.decimals = max(n.decimals-power, 0) // 11.9e-6 has seven: 0.0000119
			s.pos, n.exponent, n.small = end, true, false
		}
	}
	if !n.exponent && n.small && n.decimals < len(powers) {
		n.value = float64(n.mantissa) / powers[n.decimals]
	} else {
		v, err := strconv.ParseFloat(decimal, 64)
		if err != nil || v > largest {
			return n, refuse(s.text, quote(s.text)+" is too large a number", "write the value in a larger unit")
		}
		if v < smallest && strings.ContainsAny(mantissa, "123456789") {
			return n, refuse(s.text, quote(s.text)+" is too small a number", "write the value in a smaller unit, or 0")
		}
		n.value = v
		n.decimals = min(n.decimals, mostDecimals) // 0e-97-0 must print short enough to be read
	}
	if n.decimals == 0 && !n.exponent && whole {
		if err := s.fraction(&n); err != nil {
			return n, err
		}
	}
	if n.small && n.mantissa > 1e9 {
		n.small = false // the product with a unit's factor must stay exact
	}
	if negative {
		n.value, n.mantissa = -n.value, -n.mantissa
	}
	return n, nil
}

// fraction turns the whole number just read into "7/64" or, joined by a hyphen or
// a space, "1-1/2".
func (s *scanner) fraction(n *number) error {
	if s.pos < len(s.text) && s.text[s.pos] == '/' && s.digit(s.pos+1) {
		s.pos++
		return s.over(n, n.value, 0)
	}
	if s.pos >= len(s.text) || s.text[s.pos] != '-' && s.text[s.pos] != ' ' || !s.digit(s.pos+1) {
		return nil
	}
	end := s.pos + 1
	for s.digit(end) {
		end++
	}
	if end >= len(s.text) || s.text[end] != '/' || !s.digit(end+1) || end-s.pos > 9 {
		return nil
	}
	top, _ := strconv.ParseFloat(s.text[s.pos+1:end], 64)
	bottom := end + 1
	stop := bottom
	for s.digit(stop) {
		stop++
	}
	if below, _ := strconv.ParseFloat(s.text[bottom:stop], 64); top >= below {
		return nil // "3-5/2" is no mixed number; it may be a range
	}
	s.pos = bottom
	return s.over(n, top, n.value)
}

func (s *scanner) over(n *number, top, whole float64) error {
	from := s.pos
	for s.digit(s.pos) {
		s.pos++
	}
	bottom, err := strconv.ParseFloat(s.text[from:s.pos], 64)
	if err != nil || bottom == 0 || s.pos-from > 9 {
		return refuse(s.text, "the fraction in "+quote(s.text)+" has no usable denominator", `write it like "1-1/2 in"`)
	}
	n.value, n.decimals, n.small = whole+top/bottom, -1, false
	return nil
}

// hyphenRange reports whether the scanner stands before a hyphen that joins two
// numbers, as in "16-20 ft-lb".
func (s *scanner) hyphenRange() bool {
	rest := s.rest()
	for _, dash := range []string{"-", "–"} {
		if after, ok := strings.CutPrefix(rest, dash); ok {
			after = strings.TrimLeft(after, " ")
			return after != "" && (isDigit(after[0]) || after[0] == '.' && len(after) > 1 && isDigit(after[1]))
		}
	}
	return false
}

func (s *scanner) skipHyphen() bool { return s.skip("-") || s.skip("–") }

// second reads the number behind a range or ± sign, and the unit that ends the text.
func (s *scanner) second() (number, Unit, error) {
	s.space()
	n, err := s.number()
	if err != nil {
		return number{}, Unit{}, err
	}
	s.space()
	u, err := s.unit()
	return n, u, err
}

// innerUnit reads a unit that is followed by a range or ± sign, as in
// "92.0 mm ± 5 µm". Without one it leaves the scanner where it is.
func (s *scanner) innerUnit() (Unit, bool, error) {
	rest := s.rest()
	cut := -1
	for _, mark := range []string{"..", "±", "+-", "+/-"} {
		if i := strings.Index(rest, mark); i >= 0 && (cut < 0 || i < cut) {
			cut = i
		}
	}
	if cut < 0 {
		return Unit{}, false, nil
	}
	text := strings.TrimSpace(rest[:cut])
	if text == "" || strings.ContainsAny(text[:1], "-–0123456789.") {
		return Unit{}, false, nil
	}
	u, err := ParseUnit(text)
	if err != nil {
		return Unit{}, false, err
	}
	s.pos += cut
	return u, true, nil
}

// unit reads the unit that ends the text; none is the unit "1".
func (s *scanner) unit() (Unit, error) {
	s.space()
	rest := strings.TrimSpace(s.rest())
	if rest == "" {
		return atoms["1"], nil
	}
	switch c := rest[0]; {
	case isDigit(c) && !strings.HasPrefix(rest, "1/"), c == '.', c == '+', c == ',':
		return Unit{}, s.trailing()
	case rest == "-", strings.HasPrefix(rest, "- "):
		return Unit{}, s.trailing()
	}
	u, err := ParseUnit(rest)
	if err != nil {
		e := err.(*ParseError)
		if e.Text != s.text {
			e.Says += " in " + quote(s.text)
		}
		e.Text = s.text
		return Unit{}, e
	}
	s.pos = len(s.text)
	return u, nil
}

// noNumber says what is wrong with a text that does not begin with a number.
func (s *scanner) noNumber() error {
	word, _, _ := strings.Cut(strings.ToLower(s.text), " ")
	switch {
	case s.at("±"):
		return refuse(s.text, quote(s.text)+" has no value before its ±", `write the value too, like "92.004 ± 0.005 mm"`)
	case s.at("<="), s.at(">="), s.at("≤"), s.at("≥"):
		return refuse(s.text, quote(s.text)+" is a limit on one side", "one value is needed here")
	case strings.ContainsAny(s.text[:1], "<>="), atMost(word), atLeast(word):
		return refuse(s.text, quote(s.text)+" does not begin with a number", sides)
	case strings.ContainsAny(s.text, vulgarFractions):
		return refuse(s.text, quote(s.text)+" does not begin with a number", fractionHint)
	}
	return refuse(s.text, quote(s.text)+" does not begin with a number", `write the number first, then its unit, like "92.004 mm"`)
}

func (s *scanner) trailing() error {
	return refuse(s.text, "after the number in "+quote(s.text)+" stands "+quote(strings.TrimSpace(s.rest()))+", which is no unit", `write one number and its unit, like "92.004 mm"`)
}

// uncertaintyOptions are the words that may follow "VALUE ± U UNIT".
type uncertaintyOptions struct {
	k, dof float64
	shape  Shape
	any    bool
}

// cutOptions takes the shape word, k= and dof= off the end of the text.
func (s *scanner) cutOptions() (uncertaintyOptions, error) {
	o := uncertaintyOptions{dof: math.Inf(1)}
	if !strings.ContainsAny(s.text, "=r") {
		return o, nil // no k=, no dof=, and every shape word has an r
	}
	joined := strings.ReplaceAll(strings.ReplaceAll(s.text, " =", "="), "= ", "=")
	words := strings.FieldsFunc(joined, func(r rune) bool { return r == ' ' || r == ';' || r == '\u00a0' })
	keep := len(words)
	for keep > 0 {
		word := strings.TrimRight(words[keep-1], ",")
		name, value, assigned := strings.Cut(word, "=")
		if !assigned {
			shape := -1
			for i, n := range shapeNames {
				if word == n {
					shape = i
				}
			}
			if shape < 0 {
				break
			}
			o.shape, o.any = Shape(shape), true
			keep--
			continue
		}
		if name != "k" && name != "dof" {
			break
		}
		x, err := strconv.ParseFloat(value, 64)
		if err != nil || !(x > 0) || math.IsInf(x, 0) && name == "k" {
			return o, refuse(s.text, quote(word)+" is not a number above zero", "write it like k=1 or dof=18")
		}
		if name == "k" {
			o.k = x
		} else {
			o.dof = x
		}
		o.any = true
		keep--
	}
	if o.any {
		s.text = strings.TrimRight(strings.Join(words[:keep], " "), ",")
		if s.text == "" {
			return o, refuse(s.text, "no value stands before the ±", `write "VALUE ± U UNIT"`)
		}
	}
	return o, nil
}
