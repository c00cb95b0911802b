package joint

import (
	"math"
	"strconv"
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// longestDesignation bounds what is looked at: no thread is longer.
const longestDesignation = 60

// ParseThread reads a thread as it is written on drawings, boxes and in manuals.
//
//	M10            ISO metric, coarse pitch
//	M10x1.25       ISO metric; also M10×1.25, M10 X 1.25, M10*1.25, M10-1.25
//	3/8-16         unified inch, threads per inch; also 3/8"-16, 3/8-16 UNC, 1-1/8-12 UNF
//	1/4 UNF        the series gives the threads per inch
//	#10-32         number size; also 10-32, No. 10-32
//	.375-24        decimal inches
//	M24x1.5 LH     left-hand; also "left", "left-hand", "-LH"
//
// The tolerance classes 6g, 6H, 2A and 2B may follow (M10x1.5-6g, 1/4-20 UNC-2A) and
// change nothing, since they are what [Thread.Limits] uses. A series that contradicts
// the threads per inch is refused. A whole number before the hyphen is a number size
// where that size has such a thread (1-64, 10-32) and inches otherwise (1-8, 2-4.5).
//
// Refused, each with its reason, are: taper and pipe threads, Whitworth-form and
// other threads that do not have the 60° profile, an inch size without threads per
// inch, a decimal comma, and a designation that holds the length of the screw. The
// error is an *[argument.Error] whose argument is "thread".
//
// Source: designations of ISO 965-1 and ASME B1.1, memory; the spellings are common
// practice, no published source.
func ParseThread(text string) (Thread, error) {
	shown := quoteShort(text)
	if len(text) > longestDesignation {
		return Thread{}, argument.Refuse("thread", shown+" is too long for a thread", `write it as "M10x1.25" or "3/8-16"`)
	}
	s := tidy(text)
	if s == "" {
		return Thread{}, argument.Refuse("thread", "the thread is empty", `write it as "M10x1.25" or "3/8-16"`)
	}
	if err := foreign(shown, s); err != nil {
		return Thread{}, err
	}
	if strings.Contains(s, ",") {
		return Thread{}, argument.Refuse("thread", shown+" holds a comma", "write a decimal point")
	}
	s, left := cutHand(s)
	s, err := cutClass(shown, s)
	if err != nil {
		return Thread{}, err
	}
	var t Thread
	if rest, ok := strings.CutPrefix(s, "m"); ok {
		t, err = parseMetric(shown, strings.TrimSpace(rest))
	} else {
		t, err = parseInch(shown, s)
	}
	if err != nil {
		return Thread{}, err
	}
	return t.Handed(left), nil
}

func quoteShort(text string) string {
	const longest = 30
	if r := []rune(text); len(r) > longest {
		text = string(r[:longest]) + "…"
	}
	return strconv.Quote(text)
}

// tidy lowers the case, evens out signs that mean the same and single spaces.
func tidy(text string) string {
	s := strings.NewReplacer("×", "x", "*", "x", "–", "-", "−", "-", "‐", "-", "‑", "-", "″", `"`, "”", `"`, "⁄", "/", "\u00a0", " ", "\u202f", " ").Replace(text)
	return strings.Join(strings.Fields(strings.ToLower(s)), " ")
}

// foreign refuses threads of another profile by name, before anything else can
// misread them.
func foreign(shown, s string) error {
	word := func(names ...string) bool {
		for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '-' || r == '.' || r == '(' || r == ')' }) {
			for _, n := range names {
				if f == n {
					return true
				}
			}
		}
		return false
	}
	starts := func(prefix string) bool {
		rest, ok := strings.CutPrefix(s, prefix)
		return ok && rest != "" && (rest[0] == ' ' || rest[0] >= '0' && rest[0] <= '9')
	}
	noTorque := "give the joint its torque and leave the thread to a note"
	switch {
	case word("taper", "tapered", "conical", "npt", "nptf", "bspt", "pt") || starts("r") || starts("rc") || starts("rp"):
		return argument.Refuse("thread", shown+" is a taper pipe thread: it seals by wedging, so its torque and preload do not follow from a stress area", noTorque)
	case word("pipe", "bsp", "bspp", "nps", "npsm") || starts("g"):
		return argument.Refuse("thread", shown+" is a pipe thread: its size is not its diameter and it is not made to clamp", noTorque)
	case word("bsw", "bsf", "bsb", "bsc", "bscy", "cei", "cycle", "ba", "bsbrass", "whit", "whitworth", "w") || starts("w"):
		return argument.Refuse("thread", shown+" is not a 60° metric or unified thread; Whitworth, BA and cycle threads are not covered", noTorque)
	case word("tr", "acme", "trapezoidal", "buttress") || starts("tr"):
		return argument.Refuse("thread", shown+" is a lead screw thread, not one that clamps", noTorque)
	case starts("mj") || word("unj", "unjf", "unjc"):
		return argument.Refuse("thread", shown+" has the rounded-root J profile, which is not covered", "write the thread without the J if its other sizes will do")
	}
	return nil
}

// cutHand takes a mark of hand off the end.
func cutHand(s string) (string, bool) {
	for _, mark := range []struct {
		text string
		left bool
	}{{"left-handed", true}, {"left handed", true}, {"left-hand", true}, {"left hand", true}, {"left", true}, {"lh", true},
		{"right-hand", false}, {"right hand", false}, {"right", false}, {"rh", false}} {
		rest, ok := strings.CutSuffix(s, mark.text)
		if !ok {
			continue
		}
		trimmed := strings.TrimRight(rest, " -")
		if trimmed != rest || endsInDigit(trimmed) {
			return trimmed, mark.left
		}
	}
	return s, false
}

func endsInDigit(s string) bool {
	return s != "" && s[len(s)-1] >= '0' && s[len(s)-1] <= '9'
}

// cutClass takes a tolerance class off the end and refuses one whose limits are not
// worked out here.
func cutClass(shown, s string) (string, error) {
	i := strings.LastIndexAny(s, "- ")
	if i < 0 {
		return s, nil
	}
	class := s[i+1:]
	switch class {
	case "6g", "6h", "2a", "2b":
		return strings.TrimRight(s[:i], " -"), nil
	}
	if len(class) >= 2 && class[0] >= '1' && class[0] <= '9' && strings.Trim(class, "0123456789") != "" &&
		strings.Trim(class, "0123456789abcdefgh") == "" {
		return "", argument.Refuse("thread", "the tolerance class "+strconv.Quote(class)+" in "+shown+" is not covered: 6g, 6H, 2A and 2B are", "leave the class out")
	}
	return s, nil
}

// decimal reads a plain unsigned decimal such as 10, 1.25 or .5.
func decimal(s string) (float64, bool) {
	if s == "" || len(s) > 12 || strings.Trim(s, "0123456789.") != "" || strings.Count(s, ".") > 1 || s == "." {
		return 0, false
	}
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil
}

func malformed(shown string) error {
	return argument.Refuse("thread", shown+" is not a thread", `write it as "M10x1.25", "3/8-16" or "#10-32"`)
}

func parseMetric(shown, s string) (Thread, error) {
	parts := strings.FieldsFunc(s, func(r rune) bool { return r == 'x' || r == '-' })
	if len(parts) == 0 || strings.Count(s, "x")+strings.Count(s, "-") != len(parts)-1 {
		return Thread{}, malformed(shown)
	}
	var sizes [3]float64
	if len(parts) > len(sizes) {
		return Thread{}, malformed(shown)
	}
	for i, part := range parts {
		part = strings.TrimSpace(part)
		// A unit after a size is harmless: M10 x 1.25 mm.
		part = strings.TrimSpace(strings.TrimSuffix(part, "mm"))
		x, ok := decimal(part)
		if !ok {
			return Thread{}, malformed(shown)
		}
		if x == 0 {
			return Thread{}, argument.Refuse("thread", shown+" has a size of zero", "check the thread")
		}
		sizes[i] = x
	}
	if len(parts) == 3 {
		return Thread{}, argument.Refuse("thread", shown+" holds a third size, which is the length of a screw", "write the thread alone and give the length by itself")
	}
	t, err := Metric(quantity.Millimetres(sizes[0]), quantity.Millimetres(sizes[1]))
	if err != nil {
		return Thread{}, inThread(shown, err)
	}
	return t, nil
}

// inThread names the designation in an error about one of its sizes.
func inThread(shown string, err error) error {
	if e, ok := err.(*argument.Error); ok {
		return argument.Refuse("thread", "in "+shown+", "+e.Says, e.Do)
	}
	return err
}

// seriesWords are the series that may follow an inch thread. The older names NC, NF
// and NEF mean the same threads.
var seriesWords = map[string]Series{
	"unc": Coarse, "unf": Fine, "unef": ExtraFine, "un": ConstantPitch, "uns": Special,
	"unrc": Coarse, "unrf": Fine, "nc": Coarse, "nf": Fine, "nef": ExtraFine,
}

func parseInch(shown, s string) (Thread, error) {
	series, named := Special, false
	seriesText := ""
	if i := strings.LastIndexAny(s, "- "); i > 0 {
		if found, ok := seriesWords[s[i+1:]]; ok {
			series, named, seriesText = found, true, strings.ToUpper(s[i+1:])
			s = strings.TrimRight(s[:i], " -")
		}
	}
	numbered := false
	for _, prefix := range []string{"#", "no.", "no"} {
		if rest, ok := strings.CutPrefix(s, prefix); ok {
			s, numbered = strings.TrimSpace(rest), true
			break
		}
	}
	// An inch mark changes nothing but rules out a number size.
	inches := false
	for _, mark := range []string{`"`, "in", "''"} {
		if before, after, ok := strings.Cut(s, mark); ok {
			s, inches = strings.TrimSpace(before)+strings.TrimSpace(after), true
			break
		}
	}
	s = strings.NewReplacer(" - ", "-", " -", "-", "- ", "-").Replace(s)
	if numbered && inches {
		return Thread{}, malformed(shown)
	}

	sizeText, tpiText := s, ""
	// The last hyphen parts size and threads, unless what follows is a fraction, as
	// in 1-1/8, and the hyphen belongs to the size.
	if i := strings.LastIndex(s, "-"); i >= 0 && !strings.Contains(s[i+1:], "/") {
		sizeText, tpiText = s[:i], s[i+1:]
	}
	size, whole, ok := inchesOf(sizeText)
	if !ok {
		if strings.Contains(s, "x") {
			return Thread{}, argument.Refuse("thread", shown+" holds an x, which parts the sizes of metric threads", "write threads per inch after a hyphen, as in 3/8-16, and a length by itself")
		}
		return Thread{}, malformed(shown)
	}

	tpi := 0.0
	if tpiText != "" {
		if tpi, ok = decimal(strings.TrimSpace(tpiText)); !ok || tpi == 0 {
			return Thread{}, malformed(shown)
		}
	}
	asNumber := numbered || whole && !inches && (readsAsNumberSize(sizeText, tpi) || tpi == 0 && named && size > largestInch)
	if asNumber {
		n := int(size)
		if !whole || n > 12 || n == 7 || n == 9 || n == 11 {
			return Thread{}, argument.Refuse("thread", shown+" names no number size: they are 0 to 6, 8, 10 and 12", "check the number before the hyphen")
		}
		size = numberSize(n)
	}
	if size > largestInch {
		return Thread{}, argument.Refuse("thread", shown+" is neither a number size nor a size in inches up to 4", `write a number size with a #, as in "#8-40", and a metric size with an M`)
	}

	if tpi == 0 {
		if !named || series == ConstantPitch || series == Special {
			return Thread{}, argument.Refuse("thread", shown+" does not say how many threads per inch", "write them after a hyphen, as in 3/8-16 or 3/8-24, or name the series, as in 3/8 UNC")
		}
		row, known := inchSize(size)
		if known {
			tpi = map[Series]float64{Coarse: row.unc, Fine: row.unf, ExtraFine: row.unef}[series]
		}
		if tpi == 0 {
			return Thread{}, argument.Refuse("thread", "the series "+seriesText+" has no thread of the size in "+shown, "write the threads per inch after a hyphen")
		}
	}
	t, err := Unified(quantity.Inches(size), tpi)
	if err != nil {
		return Thread{}, inThread(shown, err)
	}
	if named && !agrees(series, t.series) {
		return Thread{}, argument.Refuse("thread", shown+" contradicts itself: "+number(tpi)+" threads per inch is not "+seriesText+" for this size", "leave the series out, or check the threads per inch")
	}
	return t, nil
}

// agrees reports whether a series that was written may stand on a thread of a
// series. UN is the name of the whole family; UNS is written on what is of no named
// series, and lists differ on which constant-pitch sizes are.
func agrees(written, is Series) bool {
	switch written {
	case ConstantPitch:
		return true
	case Special:
		return is == ConstantPitch || is == Special
	}
	return written == is
}

// readsAsNumberSize reports whether a whole number before the hyphen is a number
// size: only where a number size has that many threads, so that 1-8 stays one inch.
func readsAsNumberSize(whole string, tpi float64) bool {
	n, err := strconv.Atoi(whole)
	if err != nil || n < 0 || n > 12 || tpi == 0 {
		return false
	}
	row, ok := inchSize(numberSize(n))
	return ok && (tpi == row.unc || tpi == row.unf || tpi == row.unef)
}

// inchesOf reads 3/8, 1-1/8, 1 1/8, .375 or 2; whole reports a plain whole number.
func inchesOf(s string) (size float64, whole, ok bool) {
	s = strings.TrimSpace(s)
	if x, ok := decimal(s); ok {
		return x, !strings.Contains(s, "."), true
	}
	wholePart, fraction := "", s
	if i := strings.IndexAny(s, "- "); i >= 0 {
		wholePart, fraction = s[:i], strings.TrimSpace(s[i+1:])
	}
	top, under, found := strings.Cut(fraction, "/")
	if !found {
		return 0, false, false
	}
	a, err1 := strconv.ParseUint(top, 10, 8)
	b, err2 := strconv.ParseUint(under, 10, 8)
	if err1 != nil || err2 != nil || b == 0 || a >= b || a == 0 {
		return 0, false, false
	}
	size = float64(a) / float64(b)
	if wholePart != "" {
		w, err := strconv.ParseUint(wholePart, 10, 8)
		if err != nil {
			return 0, false, false
		}
		size += float64(w)
	}
	return round9(math.Abs(size)), false, true
}
