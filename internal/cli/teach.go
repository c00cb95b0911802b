package cli

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"buttonup/formula"
	"buttonup/internal/book"
	"buttonup/journal"
)

// teachFlags are those of sheets that leave the shop.
type teachFlags struct {
	sheetFlags `embed:""`
	Of         []string `placeholder:"REF" help:"What it is of: operation.NAME, joint.NAME, dimension.NAME, number.NAME or slot.NAME; may be given several times for a description."`
	Place      string   `placeholder:"PLACE" help:"At which place, where that makes a difference."`
	Publish    bool     `help:"Note in the job's journal that it was given away, so that a changed figure tells which sheets are wrong."`
}

// lesson makes what teaching sheets are made of: the pack as it is carried or kept,
// without the job's own text, and choices and parts, without readings or people.
func (f *sheetFlags) lesson(a *app, l *loaded) (*book.Lesson, error) {
	now := a.now()
	if f.Now != "" {
		t, err := parseTime(f.Now)
		if err != nil {
			return nil, err
		}
		now = t
	}
	paper := book.A4
	if f.Paper == "letter" {
		paper = book.Letter
	}
	return book.Teach(l.base, l.state, now, paper), nil
}

func (f *teachFlags) first() (string, error) {
	if len(f.Of) == 0 {
		return "", misused("--of", "name it, like --of operation.carrier_on or --of joint.head_nuts", "it is not said what the sheet is of")
	}
	return f.Of[0], nil
}

// notThere offers a name of the pack that may be meant.
func notThere(l *loaded, of string, err error) error {
	if !errors.Is(err, book.ErrNothing) {
		return failed("", "%v", err)
	}
	var names []string
	for _, o := range l.base.Operations {
		names = append(names, "operation."+o.Name)
	}
	for _, j := range l.base.Joints {
		names = append(names, "joint."+j.Name)
	}
	for _, d := range l.base.Dimensions {
		names = append(names, "dimension."+d.Name)
	}
	for _, n := range l.base.Numbers {
		names = append(names, "number."+n.Name)
	}
	for _, s := range l.base.Slots {
		names = append(names, "slot."+s.Name)
	}
	hint := "write KIND.NAME as the pack does, like operation.NAME"
	near := formula.Nearest(of, names)
	if near == "" {
		for _, n := range names {
			if _, bare, _ := strings.Cut(n, "."); bare == of || strings.Contains(bare, of) {
				near = n
				break
			}
		}
	}
	if near != "" {
		hint = "perhaps " + near + " is meant"
	}
	return &failure{Says: fmt.Sprintf("the pack has no %s", of), Argument: "--of", Hint: hint, Code: ExitFailed}
}

// publish notes a sheet in the journal.
func (f *teachFlags) publish(a *app, s *book.Sheet) error {
	if !f.Publish {
		return nil
	}
	body := journal.Published{What: s.What, Of: s.Of, Place: s.Place, Code: s.Code, Figures: strings.Join(s.Figures, "\n")}
	at := a.now().UTC().Truncate(time.Second)
	switch {
	case f.Job != "":
		record, err := f.record(a)
		if err != nil {
			return err
		}
		defer record.Close()
		line, err := journal.New(record.NewID(), at, "", body).Encode()
		if err != nil {
			return failed("", "%v", err)
		}
		_, err = record.Append(a.context, f.Job, line)
		return storeError(err)
	case f.Journal != "" && f.Journal != "-":
		id := fmt.Sprintf("pub-%d-%s", at.Unix(), s.Code)
		_, err := a.appendEvents(atHome(f.Journal), []journal.Event{journal.New(id, at, "", body)})
		return err
	}
	return misused("--publish", "name the job with --job, or a journal with --journal", "there is no journal to note it in")
}

type handoutCommand struct {
	teachFlags `embed:""`
}

// Run prints a handout.
func (c *handoutCommand) Run(a *app) error {
	return c.sheet(a, "handout", (*book.Lesson).Handout)
}

type cardCommand struct {
	teachFlags `embed:""`
}

// Run prints an answer card, or its text where no file is named.
func (c *cardCommand) Run(a *app) error { return c.sheet(a, "card", (*book.Lesson).Card) }

func (f *teachFlags) sheet(a *app, what string, make func(*book.Lesson, string, string) (*book.Sheet, error)) error {
	of, err := f.first()
	if err != nil {
		return err
	}
	l, err := f.load(a)
	if err != nil {
		return err
	}
	lesson, err := f.lesson(a, l)
	l.close() // before it may be written to
	if err != nil {
		return err
	}
	s, err := make(lesson, of, f.Place)
	if err != nil {
		return notThere(l, of, err)
	}
	if what == "card" && f.Out == "" {
		if err := f.publish(a, s); err != nil {
			return err
		}
		if a.json {
			a.printJSON(map[string]any{"of": s.Of, "code": s.Code, "text": s.Text(), "figures": s.Figures})
			return nil
		}
		a.out.WriteString(s.Text())
		return nil
	}
	if err := f.write(a, what, s.File, s.Document.HTML); err != nil {
		return err
	}
	return f.publish(a, s)
}

type descriptionCommand struct {
	teachFlags `embed:""`
}

// Run prints text to paste below a film.
func (c *descriptionCommand) Run(a *app) error {
	if _, err := c.first(); err != nil {
		return err
	}
	l, err := c.load(a)
	if err != nil {
		return err
	}
	lesson, err := c.lesson(a, l)
	l.close()
	if err != nil {
		return err
	}
	s, text, err := lesson.Description(c.Of)
	if err != nil {
		return notThere(l, strings.Join(c.Of, ", "), err)
	}
	if err := c.publish(a, s); err != nil {
		return err
	}
	return c.text(a, text, map[string]any{"of": s.Of, "code": s.Code, "text": text, "figures": s.Figures})
}

// text prints text, into a file where one is named.
func (f *sheetFlags) text(a *app, text string, asJSON map[string]any) error {
	if f.Out != "" && f.Out != "-" {
		if err := a.change(f.Out, func() error { return writeNew(atHome(f.Out), []byte(text)) }); err != nil {
			return err
		}
		asJSON["file"] = f.Out
		if !a.json {
			fmt.Fprintf(a.out, "Written: %s\n", f.Out)
			return nil
		}
	}
	if a.json {
		a.printJSON(asJSON)
		return nil
	}
	a.out.WriteString(text)
	return nil
}

type chaptersCommand struct {
	sheetFlags `embed:""`
}

// Run prints chapter marks of the films of a job.
func (c *chaptersCommand) Run(a *app) error {
	l, err := c.load(a)
	if err != nil {
		return err
	}
	defer l.close()
	films := book.Chapters(l.base, l.state)
	if len(films) == 0 {
		return failed(`tap "camera on" when the camera starts: an event of kind mark, {"what":"camera on"}`, "no camera was started in this journal")
	}
	var b strings.Builder
	type chapter struct {
		At    string `json:"at"`
		Title string `json:"title"`
	}
	all := [][]chapter{}
	for i, film := range films {
		if len(films) > 1 {
			fmt.Fprintf(&b, "Film %d\n", i+1)
		}
		list := []chapter{}
		for _, ch := range film {
			fmt.Fprintf(&b, "%s %s\n", ch.Clock(), ch.Title)
			list = append(list, chapter{ch.Clock(), ch.Title})
		}
		all = append(all, list)
	}
	return c.text(a, b.String(), map[string]any{"films": all})
}

type linksCommand struct {
	sheetFlags `embed:""`
	Of         string `placeholder:"REF" help:"Only those of this."`
	Add        string `placeholder:"ADDRESS" help:"Add an address of a film or page of your own; --of says what it is about."`
}

// Run lists or adds links.
func (c *linksCommand) Run(a *app) error {
	if c.Add != "" {
		switch {
		case c.Of == "":
			return misused("--of", "say what it is about, like --of operation.carrier_on", "it is not said what the link is about")
		case c.Job == "":
			return misused("--job", "name a job of the record to keep it in", "it is not said where the link is kept")
		}
		record, err := c.record(a)
		if err != nil {
			return err
		}
		defer record.Close()
		line, err := journal.New(record.NewID(), a.now().UTC().Truncate(time.Second), "", journal.Link{Address: c.Add, Of: c.Of}).Encode()
		if err != nil {
			return failed("", "%v", err)
		}
		if _, err := record.Append(a.context, c.Job, line); err != nil {
			return storeError(err)
		}
		fmt.Fprintf(a.out, "Kept: %s for %s\n", c.Add, c.Of)
		return nil
	}
	l, err := c.load(a)
	if err != nil {
		return err
	}
	defer l.close()
	type link struct {
		Of      string `json:"of"`
		Address string `json:"address"`
	}
	list := []link{}
	var b strings.Builder
	for _, x := range l.state.Links {
		if c.Of == "" || x.Of == c.Of || strings.HasPrefix(x.Of, c.Of+" ") {
			list = append(list, link{x.Of, x.Address})
			fmt.Fprintf(&b, "%s  %s\n", x.Of, x.Address)
		}
	}
	return c.text(a, b.String(), map[string]any{"links": list})
}

type publishedCommand struct {
	sheetFlags `embed:""`
}

// Run tells which sheets that were given away are now wrong.
func (c *publishedCommand) Run(a *app) error {
	l, err := c.load(a)
	if err != nil {
		return err
	}
	defer l.close()
	lesson, err := c.lesson(a, l)
	if err != nil {
		return err
	}
	type change struct {
		Was string `json:"was"`
		Is  string `json:"is"`
	}
	type sheet struct {
		What    string   `json:"what"`
		Of      string   `json:"of"`
		At      string   `json:"at"`
		Code    string   `json:"code"`
		Now     string   `json:"now"`
		Wrong   bool     `json:"wrong"`
		Changed []change `json:"changed"`
	}
	list := []sheet{}
	var b strings.Builder
	for _, p := range lesson.CheckPublished(l.state.Published) {
		s := sheet{p.What, p.Of, p.At.Format(time.RFC3339), p.Code, p.Now, p.Wrong(), []change{}}
		state := "still right"
		if p.Wrong() {
			state = "NOW WRONG"
		}
		fmt.Fprintf(&b, "%s of %s, %s, revision %s: %s\n", p.What, p.Of, p.At.Format("2 Jan 2006"), p.Code, state)
		for _, x := range p.Changed {
			s.Changed = append(s.Changed, change{x.Was, x.Is})
			fmt.Fprintf(&b, "  says %q, now %q\n", orNothing(x.Was), orNothing(x.Is))
		}
		list = append(list, s)
	}
	if len(list) == 0 {
		b.WriteString("Nothing was noted as given away. Use --publish with handout, card or description.\n")
	}
	return c.text(a, b.String(), map[string]any{"published": list})
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}
