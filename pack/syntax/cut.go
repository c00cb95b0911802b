package syntax

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// The guards, checked before anything is parsed.
const (
	// LargestFile is the most bytes a file of a pack may have.
	LargestFile = 1 << 20
	// DeepestNesting is how many brackets may stand open at once. The parser
	// recurses, and ten thousand times this depth would end the process.
	DeepestNesting = 100
	// MostMistakes is how many mistakes of one file are reported.
	MostMistakes = 200
)

// chunk is one top-level block as text.
type chunk struct {
	text       []byte
	start      int // byte offset in the file
	line       int
	unclosed   int // brackets still open at its end
	headerLine string
}

// guard looks for what must not reach the parser.
func guard(f File) (Mistake, bool) {
	at := func(offset int, code, says, do string) (Mistake, bool) {
		return Mistake{Code: code, Span: spanAt(f, offset, offset+1), Says: says, Do: do}, true
	}
	if len(f.Text) > LargestFile {
		return at(0, "syntax.too-large", fmt.Sprintf("the file has %d bytes, and a pack file may have %d", len(f.Text), LargestFile), "split the pack into several files in one folder")
	}
	if i := invalidUTF8(f.Text); i >= 0 {
		return at(i, "syntax.not-text", "the file is not plain text (invalid UTF-8 here)", "save it as UTF-8 text")
	}
	if i := bytes.IndexByte(f.Text, 0); i >= 0 {
		return at(i, "syntax.not-text", "the file holds a NUL character, so it is not plain text", "save it as UTF-8 text")
	}
	deep := 0
	var s walker
	for i := 0; i < len(f.Text); i++ {
		switch s.step(f.Text, i) {
		case '(', '[', '{':
			if deep++; deep > DeepestNesting {
				return at(i, "syntax.too-deep", fmt.Sprintf("more than %d brackets stand open here", DeepestNesting), "close brackets that were left open, or split the formula into several numbers")
			}
		case ')', ']', '}':
			deep = max(0, deep-1)
		}
	}
	return Mistake{}, false
}

func invalidUTF8(text []byte) int {
	for i := 0; i < len(text); {
		if text[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, n := utf8.DecodeRune(text[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// walker steps through text and knows whether it is inside a string or a comment.
type walker struct {
	inString, inLine, inBlock, escaped bool
	heredoc                            string
}

// step looks at text[i] and returns it if it is code, 0 if it is inside a string
// or a comment. Strings end with their line, as the language has it.
func (w *walker) step(text []byte, i int) byte {
	c := text[i]
	switch {
	case w.heredoc != "":
		if c == '\n' {
			line, _, _ := bytes.Cut(text[i+1:], []byte("\n"))
			if strings.TrimSpace(string(line)) == w.heredoc {
				w.heredoc = ""
			}
		}
		return 0
	case w.inLine:
		w.inLine = c != '\n'
		if c == '\n' {
			return c
		}
		return 0
	case w.inBlock:
		if c == '/' && i > 0 && text[i-1] == '*' {
			w.inBlock = false
		}
		return 0
	case w.inString:
		switch {
		case c == '\n':
			w.inString, w.escaped = false, false
			return c
		case w.escaped:
			w.escaped = false
		case c == '\\':
			w.escaped = true
		case c == '"':
			w.inString = false
		}
		return 0
	case c == '"':
		w.inString = true
		return 0
	case c == '#', c == '/' && i+1 < len(text) && text[i+1] == '/':
		w.inLine = true
		return 0
	case c == '/' && i+1 < len(text) && text[i+1] == '*':
		w.inBlock = true
		return 0
	case c == '<' && i+2 < len(text) && text[i+1] == '<':
		line, _, _ := bytes.Cut(text[i+2:], []byte("\n"))
		word := strings.TrimPrefix(strings.TrimSpace(string(line)), "-")
		if word != "" && strings.Trim(word, "ABCDEFGHIJKLMNOPQRSTUVWXYZ_") == "" {
			w.heredoc = word
		}
		return 0
	}
	return c
}

// cut divides the file at its top-level blocks. A block that is never closed ends
// where the next one begins at the left margin.
func cut(f File, kinds map[string]bool) []chunk {
	var chunks []chunk
	var w walker
	text := f.Text
	start, startLine, depth, line := 0, 1, 0, 1
	flush := func(end, unclosed int) {
		if body := text[start:end]; len(bytes.TrimSpace(body)) > 0 {
			first := body
			if i := bytes.IndexByte(bytes.TrimLeft(first, " \t\r\n"), '\n'); i >= 0 {
				first = bytes.TrimLeft(first, " \t\r\n")[:i]
			}
			chunks = append(chunks, chunk{text: body, start: start, line: startLine, unclosed: unclosed, headerLine: string(first)})
		}
	}
	for i := 0; i < len(text); i++ {
		if (i == 0 || text[i-1] == '\n') && w.heredoc == "" && !w.inBlock && startsBlock(text[i:], kinds) && (depth > 0 || i > start) {
			flush(i, depth)
			start, startLine, depth = i, line, 0
		}
		c := w.step(text, i)
		if text[i] == '\n' {
			line++
		}
		switch c {
		case '{', '(', '[':
			depth++
		case '}', ')', ']':
			depth = max(0, depth-1)
		}
	}
	flush(len(text), depth)
	return chunks
}

// startsBlock reports whether a line begins with a block kind at the left margin,
// followed by a quote or a brace.
func startsBlock(line []byte, kinds map[string]bool) bool {
	n := 0
	for n < len(line) && (line[n] >= 'a' && line[n] <= 'z' || line[n] == '_') {
		n++
	}
	if n == 0 || !kinds[string(line[:n])] {
		return false
	}
	rest := bytes.TrimLeft(line[n:], " \t")
	return len(rest) > 0 && (rest[0] == '"' || rest[0] == '{')
}

// spanAt builds the span of a byte range of the file.
func spanAt(f File, start, end int) Span {
	start = min(max(start, 0), len(f.Text))
	end = min(max(end, start), len(f.Text))
	line := bytes.Count(f.Text[:start], []byte("\n")) + 1
	from := bytes.LastIndexByte(f.Text[:start], '\n') + 1
	column := utf8.RuneCount(f.Text[from:start]) + 1
	return Span{File: f.Name, Line: line, Column: column, EndLine: line, EndCo: column + utf8.RuneCount(f.Text[start:end]), Start: start, End: end}
}
