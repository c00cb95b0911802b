package cli

import (
	"bytes"
	"io"
	"os"
	"regexp"
	"strings"
)

// nature is what a file holds, as far as its beginning tells. It is asked only to
// say what was mixed up; what can be read is read, whatever it looks like.
type nature string

const (
	unknown     nature = ""
	aPack       nature = "a pack"
	aJournal    nature = "a journal"
	aTable      nature = "a table"
	aList       nature = "a JSON list or object on several lines"
	aSheet      nature = "a spreadsheet or another zipped file"
	anOldSheet  nature = "a spreadsheet or document of an office program"
	aPDF        nature = "a PDF"
	aPicture    nature = "a picture"
	aDatabase   nature = "a database"
	compressed  nature = "a compressed file"
	wideText    nature = "text in UTF-16"
	notText     nature = "no text"
	sampleBytes        = 64 << 10
)

// magics are the first bytes of files that people have beside a journal.
var magics = []struct {
	begins string
	is     nature
}{
	{"PK\x03\x04", aSheet}, {"\xd0\xcf\x11\xe0", anOldSheet}, {"%PDF-", aPDF}, {"\x89PNG", aPicture}, {"\xff\xd8\xff", aPicture},
	{"SQLite format 3\x00", aDatabase}, {"\x1f\x8b", compressed}, {"\xff\xfe", wideText}, {"\xfe\xff", wideText},
}

var (
	packLine    = regexp.MustCompile(`(?m)^[ \t]*[a-z_]+[ \t]+"[^"\n]*"[ \t]*\{`)
	journalLine = regexp.MustCompile(`^\{.*"(id|at|kind)"[ \t]*:`)
	tableWords  = regexp.MustCompile(`(?i)^"?(manual|of|dimension|name|place|value|component|fastener|reading)"?[ \t]*[,;\t]`)
)

func natureOf(text []byte) nature {
	for _, m := range magics {
		if bytes.HasPrefix(text, []byte(m.begins)) {
			return m.is
		}
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	if len(text) > sampleBytes {
		text = text[:sampleBytes]
	}
	if bytes.IndexByte(text, 0) >= 0 {
		return notText
	}
	text = bytes.TrimSpace(text)
	first, _, _ := bytes.Cut(text, []byte("\n"))
	first = bytes.TrimSpace(first)
	switch {
	case journalLine.Match(first):
		return aJournal
	case packLine.Match(text):
		return aPack
	case bytes.HasPrefix(first, []byte("[")) || string(first) == "{":
		return aList
	case tableWords.Match(first):
		return aTable
	}
	return unknown
}

// isTabular reports whether the first line may be the headings of some table.
func isTabular(text []byte) bool {
	first, _, _ := bytes.Cut(text, []byte("\n"))
	return !bytes.ContainsAny(first, "={") && (bytes.Count(first, []byte(",")) > 2 || bytes.Count(first, []byte(";")) > 1 || bytes.Count(first, []byte("\t")) > 1)
}

// natureOfFile looks at the beginning of a file; unknown for one that is not there.
func natureOfFile(name string) nature {
	f, err := os.Open(name)
	if err != nil {
		return unknown
	}
	defer f.Close()
	if info, err := f.Stat(); err != nil || !info.Mode().IsRegular() {
		return unknown
	}
	text, err := io.ReadAll(io.LimitReader(f, sampleBytes))
	if err != nil {
		return unknown
	}
	return natureOf(text)
}

// notPack says that a file that was given as a pack is something else.
func notPack(name string, is nature) error {
	hint := "a pack is a text file whose name ends in .pack, or a folder of them"
	switch is {
	case aJournal:
		hint = "name the engine's pack with --pack and this journal with --journal"
	case aTable:
		hint = "make a pack of a table of limits or torques with: buttonup pack from-table " + shellWord(name) + " --out NAME.pack"
	case wideText:
		hint = "save it as UTF-8"
	}
	return failed(hint, "%s is %s, not a pack", name, is)
}

// notJournal says that a file that was given as a journal is something else.
func notJournal(name string, is nature) error {
	hint := "a journal has one event in braces on each line"
	switch is {
	case aPack:
		hint = "name it with --pack, and the job's journal with --journal"
	case aTable:
		hint = "take the readings in it into a journal with: buttonup readings --pack PACK --csv " + shellWord(name) + " --journal JOURNAL"
	case wideText:
		hint = "save it as UTF-8"
	}
	return failed(hint, "%s is %s, not a journal", name, is)
}

// notTable says that a file that was given as a table is something else; flag is the
// flag or argument that it was given with.
func notTable(flag, name string, is nature) error {
	hint := "a table is text with commas, semicolons or tabs between its columns (CSV)"
	switch is {
	case aSheet, anOldSheet:
		hint = "open it and save it as CSV in UTF-8"
	case wideText:
		hint = "save it as CSV in UTF-8"
	case aJournal:
		hint = "a journal is named with --journal; a table begins with a line of headings"
	case aPack:
		hint = "a pack is named with --pack; a table begins with a line of headings"
	}
	return failedArgument(flag, hint, "%s is %s, not a table", name, is)
}

// isTable reports whether a table may be read of what looks like that.
func (n nature) isTable() bool { return n == aTable || n == unknown }

// shownName is what a file is called in messages.
func shownName(name string) string {
	if name == "-" {
		return "standard input"
	}
	if strings.TrimSpace(name) != name || name == "" {
		return `"` + name + `"`
	}
	return name
}
