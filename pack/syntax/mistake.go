package syntax

import (
	"bytes"
	"fmt"
	"io"
	"sort"
	"strings"
	"unicode/utf8"
)

// Mistake is something in a text that somebody wrote: where, what is wrong and
// what to do about it. Its code is listed in docs/findings.md.
type Mistake struct {
	Code string
	Span Span
	// Says is what is wrong, as a sentence without a capital and a full stop.
	Says string
	// Do is the remedy, as a sentence without a capital and a full stop.
	Do string
	// Source is the line of text, shortened when it is long; Underline is the
	// line of blanks and tildes that marks the spot.
	Source, Underline string
}

// Error returns the mistake on one line.
func (m Mistake) Error() string {
	return fmt.Sprintf("%s: %s [%s]", m.Span, m.Says, m.Code)
}

// Mistakes is a list of mistakes in the order of the source.
type Mistakes []Mistake

// Error counts the mistakes and shows the first.
func (ms Mistakes) Error() string {
	switch len(ms) {
	case 0:
		return "no mistakes"
	case 1:
		return ms[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", ms[0].Error(), len(ms)-1)
}

// Sort puts the mistakes in the order of the source and drops repeats.
func (ms *Mistakes) Sort() {
	list := *ms
	sort.SliceStable(list, func(i, j int) bool {
		a, b := list[i].Span, list[j].Span
		if a.File != b.File {
			return a.File < b.File
		}
		if a.Start != b.Start {
			return a.Start < b.Start
		}
		return list[i].Code < list[j].Code
	})
	out := list[:0]
	for i, m := range list {
		if i > 0 && m.Code == list[i-1].Code && m.Span == list[i-1].Span && m.Says == list[i-1].Says {
			continue
		}
		out = append(out, m)
	}
	*ms = out
}

// Shorten keeps the first [MostMistakes] of each file. The mistakes must be sorted.
func (ms *Mistakes) Shorten() {
	count := map[string]int{}
	out := (*ms)[:0]
	for _, m := range *ms {
		if count[m.Span.File]++; count[m.Span.File] <= MostMistakes {
			out = append(out, m)
		}
	}
	*ms = out
}

// File is a source text with its name.
type File struct {
	Name string
	Text []byte
}

// Illustrate fills in the source line and its underline from the files.
func (ms Mistakes) Illustrate(files []File) {
	byName := map[string][]byte{}
	for _, f := range files {
		byName[f.Name] = withoutMark(f.Text)
	}
	for i := range ms {
		m := &ms[i]
		text, ok := byName[m.Span.File]
		if ok && m.Source == "" {
			m.Source, m.Underline = illustrate(text, m.Span)
		}
	}
}

const widest = 160 // characters of a source line that are shown

func illustrate(text []byte, s Span) (source, underline string) {
	if s.Start < 0 || s.Start > len(text) {
		return "", ""
	}
	from := bytes.LastIndexByte(text[:s.Start], '\n') + 1
	to := len(text)
	if i := bytes.IndexByte(text[s.Start:], '\n'); i >= 0 {
		to = s.Start + i
	}
	line := strings.TrimRight(strings.ToValidUTF8(string(text[from:to]), "?"), "\r")
	before := utf8.RuneCountInString(strings.ToValidUTF8(string(text[from:s.Start]), "?"))
	width := 1
	if end := min(s.End, to); end > s.Start {
		width = max(1, utf8.RuneCount(text[s.Start:end]))
	}
	runes := []rune(line)
	if shift := before - widest/2; len(runes) > widest && shift > 0 {
		shift = min(shift, len(runes)-1)
		runes, before = append([]rune("… "), runes[shift:]...), before-shift+2
	}
	if len(runes) > widest {
		runes = append(runes[:widest], []rune(" …")...)
	}
	for i, r := range runes {
		if r == '\t' {
			runes[i] = ' '
		}
	}
	width = max(1, min(width, len(runes)-before))
	return string(runes), strings.Repeat(" ", max(before, 0)) + strings.Repeat("~", width)
}

// Write prints the mistakes for a person: file, line and column, what is wrong, the
// source line with the spot underlined, and the remedy.
func (ms Mistakes) Write(w io.Writer) error {
	for i, m := range ms {
		if i > 0 {
			if _, err := fmt.Fprintln(w); err != nil {
				return err
			}
		}
		if _, err := fmt.Fprintf(w, "%s: %s [%s]\n", m.Span, m.Says, m.Code); err != nil {
			return err
		}
		if m.Source != "" {
			number := fmt.Sprint(m.Span.Line)
			pad := strings.Repeat(" ", len(number))
			fmt.Fprintf(w, "  %s | %s\n  %s | %s\n", number, m.Source, pad, m.Underline)
		}
		if m.Do != "" {
			if _, err := fmt.Fprintf(w, "  %s\n", sentence(m.Do)); err != nil {
				return err
			}
		}
	}
	return nil
}

// sentence gives s a capital and a full stop.
func sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	s = strings.ToUpper(string(r)) + s[n:]
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// WithArticle puts "a" or "an" before a word.
func WithArticle(word string) string {
	if word != "" && strings.IndexByte("aeioAEIO", word[0]) >= 0 || strings.HasPrefix(word, "un") && !strings.HasPrefix(word, "unit") {
		return "an " + word
	}
	return "a " + word
}
