package journal

import (
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// textOf returns the text of a span that the scanner has accepted. A half of a
// surrogate pair without the other becomes U+FFFD, since it stands for no
// character.
func textOf(s string, v span) string {
	raw := s[v.start:v.end]
	if !v.escaped {
		return raw
	}
	out := make([]byte, 0, len(raw))
	for i := 0; i < len(raw); {
		if raw[i] != '\\' {
			out = append(out, raw[i])
			i++
			continue
		}
		switch raw[i+1] {
		case 'b':
			out = append(out, '\b')
		case 'f':
			out = append(out, '\f')
		case 'n':
			out = append(out, '\n')
		case 'r':
			out = append(out, '\r')
		case 't':
			out = append(out, '\t')
		case 'u':
			r := unicodeEscape(raw[i:])
			i += 6
			if utf16.IsSurrogate(r) {
				pair := utf8.RuneError
				if i+6 <= len(raw) && raw[i] == '\\' && raw[i+1] == 'u' {
					pair = utf16.DecodeRune(r, unicodeEscape(raw[i:]))
				}
				if pair != utf8.RuneError {
					i += 6
				}
				r = pair
			}
			out = utf8.AppendRune(out, r)
			continue
		default: // quotation mark, backslash, slash
			out = append(out, raw[i+1])
		}
		i += 2
	}
	return string(out)
}

// unicodeEscape returns the number of the escape \uXXXX that s starts with.
func unicodeEscape(s string) rune {
	n, _ := strconv.ParseUint(s[2:6], 16, 16)
	return rune(n)
}

// appendText appends text as a JSON string. Only what must be escaped is: the
// line stays as readable as it can be.
func appendText(out []byte, text string) []byte {
	const hex = "0123456789abcdef"
	out = append(out, '"')
	for i := 0; i < len(text); i++ {
		switch b := text[i]; {
		case b == '"' || b == '\\':
			out = append(out, '\\', b)
		case b == '\n':
			out = append(out, '\\', 'n')
		case b == '\r':
			out = append(out, '\\', 'r')
		case b == '\t':
			out = append(out, '\\', 't')
		case b < 0x20:
			out = append(out, '\\', 'u', '0', '0', hex[b>>4], hex[b&15])
		default:
			out = append(out, b)
		}
	}
	return append(out, '"')
}
