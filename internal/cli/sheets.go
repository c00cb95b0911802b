package cli

import (
	"crypto/ed25519"
	"errors"
	"io"
	"strings"

	"buttonup/assess"
	"buttonup/internal/book"
	"buttonup/internal/demo"
	"buttonup/internal/store"
	"buttonup/internal/web"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/quantity"
)

// sheetCommands are those that print, find and seal.
type sheetCommands struct {
	Book        bookCommand        `cmd:"" help:"Print the build book of a job as PDF or HTML."`
	Handout     handoutCommand     `cmd:"" help:"Print the sheet of one operation or measurement, to give away."`
	Card        cardCommand        `cmd:"" help:"Answer in two lines and a picture: one torque, part or step."`
	Description descriptionCommand `cmd:"" help:"Text to paste below a film: parts, tools, torques in both units."`
	Chapters    chaptersCommand    `cmd:"" help:"Chapter marks of a film, from the steps and the tap camera on."`
	Links       linksCommand       `cmd:"" help:"List or add your own films and pages on a step or part."`
	Published   publishedCommand   `cmd:"" help:"Which sheets were given away, and which of them are now wrong."`
	StageCard   stageCardCommand   `cmd:"" name:"stage-card" help:"Print the torques of joints large, with blanks to tick."`
	Sublet      subletCommand      `cmd:"" help:"Print what somebody else needs in writing to finish a piece to size."`
	Labels      labelsCommand      `cmd:"" help:"Print labels for trays, bags and parts; scanning one opens it."`
	Estimate    estimateCommand    `cmd:"" help:"Tell or print what a job was estimated at, and what it came to."`
	Stands      standsCommand      `cmd:"" help:"Say in two sentences where a job stands, for its owner."`
	Table       tableCommand       `cmd:"" help:"Write readings, results, parts, torques or work as CSV or a workbook."`
	Calendar    calendarCommand    `cmd:"" help:"Write waits, promised dates and re-torques as a calendar file."`
	Find        findCommand        `cmd:"" help:"Look through all jobs: words, a number, a lot, a value."`
	Verify      verifyCommand      `cmd:"" help:"Tell whether a book, a bundle, a journal, a backup or a data folder is whole."`
	Key         keyCommand         `cmd:"" help:"Show or copy the key that the shop signs with."`
}

// sheetFlags say which job a sheet is of, and how it is printed.
type sheetFlags struct {
	jobFlags `embed:""`
	keptJob  `embed:""`
	Demo     bool   `help:"Use the invented demo engine, finished."`
	Now      string `placeholder:"TIME" help:"The time that is printed, like 2026-03-02T10:04:00Z; left out: now."`
	Paper    string `enum:"a4,letter" default:"a4" help:"a4 or letter."`
	Units    string `placeholder:"mm|in" help:"Which units come first; left out: those of the pack. The others stand beside them."`
	Out      string `placeholder:"FILE" help:"The file to write; it must not be there yet."`
	JSON     bool   `name:"json" help:"Print JSON."`
}

// loaded is a job with everything that a sheet of it may need.
type loaded struct {
	id      string
	base    *pack.Pack // as it was written
	pack    *pack.Pack // with the job's own text
	journal *journal.Journal
	state   *journal.State
	sum     string // of the pack text
	photo   func(sha string) ([]byte, error)
	close   func()
	title   string
	key     ed25519.PrivateKey // nil where there is none
}

var errNoPhoto = errors.New("the photo is not kept here")

// load reads the job that the flags name.
func (f *sheetFlags) load(a *app) (*loaded, error) {
	l := &loaded{close: func() {}}
	var p *pack.Pack
	var err error
	switch {
	case f.Demo:
		if f.Pack != "" || f.Journal != "" || f.Job != "" {
			return nil, misused("--demo", "leave --pack, --journal and --job out, or leave --demo out", "--demo brings its own pack and journal")
		}
		if p, err = a.loadPack(packs.Demo); err != nil {
			return nil, err
		}
		text, photos := demo.Finished()
		l.journal = journal.Read(text)
		l.photo = func(sha string) ([]byte, error) {
			if b, ok := photos[sha]; ok {
				return b, nil
			}
			return nil, errNoPhoto
		}
		l.sum = packSum(p.Files)
	case f.Job != "":
		if f.Pack != "" || f.Journal != "" {
			return nil, misused("--job", "leave --pack and --journal out, or leave --job out", "a job of the record brings its own pack and journal")
		}
		return f.loadKept(a)
	default:
		if f.Data != "" && f.Pack == "" {
			return nil, misused("--job", "name one: buttonup job list --data "+shellWord(f.Data)+" tells them", "it is not said which job of the record is meant")
		}
		var text []byte
		if p, _, err = a.loadJob(jobFlags{Pack: f.Pack}); err != nil {
			return nil, err
		}
		if f.Journal != "" {
			if text, err = a.readInput(f.Journal); err != nil {
				return nil, err
			}
			j := journal.Read(text)
			if is := natureOf(text); len(j.Received()) == 0 && is != aJournal && is != unknown {
				return nil, notJournal(shownName(f.Journal), is)
			}
		}
		l.journal = journal.Read(text)
		l.sum = packSum(p.Files)
	}
	l.state = l.journal.Fold()
	l.base = p
	l.pack, _ = assess.WithExtras(p, l.state)
	return l, nil
}

func packSum(files []pack.File) string {
	var texts [][]byte
	for _, f := range files {
		texts = append(texts, f.Text)
	}
	return journal.PackSum(texts)
}

// loadKept reads a job of the record; its photos are read as they are asked for.
func (f *sheetFlags) loadKept(a *app) (*loaded, error) {
	s, err := f.reading(a)
	if err != nil {
		return nil, err
	}
	l := &loaded{id: f.Job, close: func() { s.Close() }}
	fail := func(err error) (*loaded, error) { s.Close(); return nil, storeError(err) }
	job, err := s.Job(a.context, f.Job)
	if err != nil {
		return fail(err)
	}
	l.title = job.Title
	texts, err := s.Texts(a.context, f.Job)
	if err != nil {
		return fail(err)
	}
	if l.journal, err = s.Journal(a.context, f.Job); err != nil {
		return fail(err)
	}
	p, mistakes := web.LoadPinned(texts)
	if len(mistakes) > 0 {
		s.Close()
		return nil, &failure{Says: "the pack of job " + f.Job + " has " + count(len(mistakes), "mistake"), Mistakes: mistakes, Code: ExitMistakes}
	}
	l.sum = textsSum(texts)
	l.photo = func(sha string) ([]byte, error) { return readPhoto(s, sha) }
	if l.key, err = s.SigningKey(); errors.Is(err, store.ErrNotFound) {
		l.key = nil // a record of an older version, not written to since
	} else if err != nil {
		return fail(err)
	}
	l.state = l.journal.Fold()
	l.base = p
	l.pack, _ = assess.WithExtras(p, l.state)
	return l, nil
}

func textsSum(t store.Texts) string {
	var texts [][]byte
	for _, f := range t.Pack {
		texts = append(texts, f.Text)
	}
	for _, x := range t.Templates {
		for _, f := range x.Files {
			texts = append(texts, f.Text)
		}
	}
	return journal.PackSum(texts)
}

func readPhoto(s *store.Store, sha string) ([]byte, error) {
	r, err := s.Photo(sha)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

// book puts a job together for the sheets.
func (f *sheetFlags) book(a *app, l *loaded) (*book.Job, error) {
	now := a.now()
	if f.Now != "" {
		t, err := parseTime(f.Now)
		if err != nil {
			return nil, err
		}
		now = t
	}
	j := book.Make(l.id, l.pack, l.sum, l.journal.Received(), l.state, now)
	j.Photo = l.photo
	if f.Paper == "letter" {
		j.Paper = book.Letter
	}
	switch f.Units {
	case "":
	case "mm", "metric":
		j.Units = quantity.Metric
	case "in", "inch":
		j.Units = quantity.Inch
	default:
		return nil, misused("--units", "write mm or in", "%q is no system of units", f.Units)
	}
	if f.Demo {
		j.Shop, j.ID = demoShop, "0410"
	}
	return j, nil
}

// write writes a sheet under its name; the ending says which form.
func (f *sheetFlags) write(a *app, what string, pdf, html func() ([]byte, error)) error {
	make := pdf
	lower := strings.ToLower(f.Out)
	switch {
	case f.Out == "":
		return misused("--out", "name the file, like --out "+what+".pdf", "it is not said where the %s goes", what)
	case strings.HasSuffix(lower, ".html"), strings.HasSuffix(lower, ".htm"):
		make = html
	case f.Out != "-" && !strings.HasSuffix(lower, ".pdf"):
		return misused("--out", "end the name in .pdf or .html", "%s ends neither in .pdf nor in .html", f.Out)
	}
	done := a.watch("printing")
	b, err := make()
	done()
	if err != nil {
		return failed("", "the %s cannot be made: %v", what, err)
	}
	if f.Out == "-" {
		_, err := a.out.Write(b)
		return err
	}
	if err := a.change(f.Out, func() error { return writeNew(atHome(f.Out), b) }); err != nil {
		return err
	}
	if a.json {
		a.printJSON(map[string]any{"file": f.Out, "bytes": len(b)})
		return nil
	}
	a.out.WriteString("Written: " + f.Out + "\n")
	return nil
}

type bookCommand struct {
	sheetFlags `embed:""`
}

// Run writes the build book.
func (c *bookCommand) Run(a *app) error {
	l, err := c.load(a)
	if err != nil {
		return err
	}
	defer l.close()
	j, err := c.book(a, l)
	if err != nil {
		return err
	}
	d := book.BuildBook(j)
	sealed := func(b []byte, err error) ([]byte, error) {
		if err != nil {
			return nil, err
		}
		return j.Seal(b, l.key), nil
	}
	return c.write(a, "book", func() ([]byte, error) { return sealed(d.PDF(j.FileID())) }, func() ([]byte, error) { return sealed(d.HTML()) })
}
