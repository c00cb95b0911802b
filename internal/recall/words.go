package recall

import (
	"strings"
	"unicode"
)

// The trade has several words for one thing; the search knows them as one.
var sameWord = map[string]string{}

func init() {
	for _, pair := range strings.Fields("intake=inlet barrel=cylinder tappet=lifter follower=lifter gudgeon=piston wrist=piston nearside=left offside=right lash=clearance endfloat=play float=play reused=kept reuse=kept used=kept again=kept replaced=fitted bored=bore rebored=bore rebore=bore locker=lock bolt=screw price=cost money=cost") {
		from, to, _ := strings.Cut(pair, "=")
		sameWord[withoutEnding(from)] = withoutEnding(to)
	}
}

// passedOver are words of a question that no answer holds.
var passedOver = map[string]bool{}

func init() {
	for _, w := range strings.Fields("a an and are as at be been by can did do does for from has have how i in is it its like me my of on our same set so that the their them there they this to use was we were what when where which who whose why with you your or re") {
		passedOver[w] = true
	}
}

// Tokens cuts a text into the words it is found by: lower case, numbers whole with
// their decimals, endings off, one word for what the trade has several for.
func Tokens(text string) []string {
	var out []string
	runes := []rune(strings.ToLower(text))
	for i := 0; i < len(runes); {
		r := runes[i]
		switch {
		case unicode.IsDigit(r):
			j := i
			var b strings.Builder
			for j < len(runes) && (unicode.IsDigit(runes[j]) || (runes[j] == '.' || runes[j] == ',') && j+1 < len(runes) && unicode.IsDigit(runes[j+1])) {
				if runes[j] == '.' || runes[j] == ',' {
					b.WriteByte('_') // a decimal point stays within the word
				} else {
					b.WriteRune(runes[j])
				}
				j++
			}
			for j < len(runes) && unicode.IsLetter(runes[j]) { // 24tpi, 22b
				b.WriteRune(runes[j])
				j++
			}
			out = append(out, b.String())
			i = j
		case unicode.IsLetter(r):
			j := i
			for j < len(runes) && (unicode.IsLetter(runes[j]) || unicode.IsDigit(runes[j])) {
				j++
			}
			w := string(runes[i:j])
			out = append(out, plainWord(w))
			i = j
		case r == '.' && i+1 < len(runes) && unicode.IsDigit(runes[i+1]):
			out = append(out, "0_")
			i++
			j := i
			for j < len(runes) && unicode.IsDigit(runes[j]) {
				j++
			}
			out[len(out)-1] += string(runes[i:j])
			i = j
		default:
			i++
		}
	}
	return out
}

// plainWord takes the ending off a word, and takes one word for what has several.
func plainWord(w string) string {
	w = withoutEnding(w)
	if s, ok := sameWord[w]; ok {
		return s
	}
	return w
}

func withoutEnding(w string) string {
	for _, r := range w {
		if unicode.IsDigit(r) {
			return w // an engine number has no endings
		}
	}
	for _, end := range []string{"ing", "ed", "es", "s", "e"} {
		if cut, ok := strings.CutSuffix(w, end); ok && len(cut) >= 3 && !strings.HasSuffix(w, "ss") {
			return cut
		}
	}
	return w
}

// Query turns a question into the words that an answer must have. Words in quotation
// marks must stand together. The last word may be begun only.
func Query(question string) []string {
	var words []string
	parts := strings.Split(question, `"`)
	for i, part := range parts {
		if i%2 == 1 && i+1 < len(parts) {
			if phrase := strings.Join(Tokens(part), " "); phrase != "" {
				words = append(words, phrase)
			}
			continue
		}
		for _, field := range strings.Fields(part) {
			if passedOver[strings.Trim(strings.ToLower(field), "?.,!:;'")] {
				continue
			}
			for _, w := range Tokens(field) {
				if !passedOver[w] {
					words = append(words, w)
				}
			}
		}
	}
	if n := len(words); n > 0 && len(words[n-1]) >= 3 && !strings.HasSuffix(question, " ") && !strings.HasSuffix(question, `"`) {
		words[n-1] += "*"
	}
	return words
}
