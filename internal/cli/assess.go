package cli

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/internal/web"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/quantity"
	"buttonup/words"
)

// jobFlags name the pack and the journal of a job.
type jobFlags struct {
	Pack    string `placeholder:"PATH" help:"The engine pack: a file, a folder, or the ID of one that the program carries."`
	Journal string `placeholder:"FILE" help:"The journal (JSON Lines); - for standard input. Left out: an empty one."`
}

// keptJob names a job of the record instead.
type keptJob struct {
	Job       string `placeholder:"ID" help:"A job of the record, with the pack it was started on."`
	dataFlags `embed:""`
}

// load reads a job of the record.
func (f keptJob) load(a *app) (*pack.Pack, *journal.State, error) {
	s, err := f.reading(a)
	if err != nil {
		return nil, nil, err
	}
	defer s.Close()
	texts, err := s.Texts(a.context, f.Job)
	if err != nil {
		return nil, nil, storeError(err)
	}
	j, err := s.Journal(a.context, f.Job)
	if err != nil {
		return nil, nil, storeError(err)
	}
	p, mistakes := web.LoadPinned(texts)
	if len(mistakes) > 0 {
		return nil, nil, &failure{Says: fmt.Sprintf("the pack of job %s has %s", f.Job, count(len(mistakes), "mistake")), Mistakes: mistakes, Code: ExitMistakes}
	}
	return p, j.Fold(), nil
}

// whichJob says which job is meant and for when.
type whichJob struct {
	jobFlags `embed:""`
	keptJob  `embed:""`
	Demo     bool   `help:"Use the invented demo engine, in mid-inspection."`
	Now      string `placeholder:"TIME" help:"The time to assess for, like 2026-03-02T10:04:00Z; left out: now."`
}

type assessCommand struct {
	whichJob `embed:""`
	Set      []string `placeholder:"NAME[PLACE]=VALUE" sep:"none" help:"Suppose a value, a size of a part (SLOT.SIZE), a part or a choice without writing it down; may be given several times."`
	All      bool     `help:"Show every note and every blocked operation too."`
	JSON     bool     `name:"json" help:"Print JSON."`
}

// Run assesses a job.
func (c *assessCommand) Run(a *app) error {
	p, state, options, err := c.load(a)
	if err != nil {
		return err
	}
	for _, s := range c.Set {
		x, err := parseSupposition(p, s)
		if err != nil {
			return err
		}
		options.Suppose = append(options.Suppose, x)
	}
	done := a.watch("assessing")
	var out *assess.Assessment
	var what *assess.WhatIf
	if len(options.Suppose) > 0 {
		what = assess.Suppose(p, state, options)
		out = what.After
	} else {
		out = assess.Assess(p, state, options)
	}
	out.Next = out.Advised()
	done()
	for i := range out.Findings {
		if f := &out.Findings[i]; f.Code == assess.CodeSupposedUnknown {
			return unsupposable(f, out)
		}
	}
	if j := state.Job; j != nil && j.Job.Pack != "" && j.Job.Pack != p.Name {
		a.say("hint: the journal belongs to a job on the pack %s, and it is assessed with %s; with the wrong pack much of it is not understood", j.Job.Pack, p.Name)
	}
	if a.json {
		report := words.Make(out)
		if what != nil {
			report.WhatIf = words.MakeWhatIf(what)
		}
		a.printJSON(report)
	} else {
		if what != nil {
			printWhatIf(a.out, what)
		}
		printAssessment(a.out, out, c.All)
	}
	if out.Stops() > 0 {
		return exit(ExitStops)
	}
	return nil
}

// load reads the job, and the time it is looked at.
func (c *whichJob) load(a *app) (*pack.Pack, *journal.State, assess.Options, error) {
	p, state, err := c.job(a)
	if err != nil {
		return nil, nil, assess.Options{}, err
	}
	options := assess.Options{Now: a.now()}
	if c.Now != "" {
		if options.Now, err = parseTime(c.Now); err != nil {
			return nil, nil, assess.Options{}, err
		}
	}
	return p, state, options, nil
}

func (c *whichJob) job(a *app) (*pack.Pack, *journal.State, error) {
	if c.Demo {
		if c.Pack != "" || c.Journal != "" {
			return nil, nil, misused("--demo", "leave --pack and --journal out, or leave --demo out", "--demo brings its own pack and journal")
		}
		p, err := a.loadPack(packs.Demo)
		if err != nil {
			return nil, nil, err
		}
		text, _ := packs.Journal(packs.Demo, "mid-inspection")
		return p, journal.Read(text).Fold(), nil
	}
	if c.Job != "" {
		if c.Pack != "" || c.Journal != "" {
			return nil, nil, misused("--job", "leave --pack and --journal out, or leave --job out", "a job of the record brings its own pack and journal")
		}
		return c.keptJob.load(a)
	}
	if c.Data != "" && c.Pack == "" {
		return nil, nil, misused("--job", "name one: buttonup job list --data "+shellWord(c.Data)+" tells them", "it is not said which job of the record is meant")
	}
	return a.loadJob(c.jobFlags)
}

// loadJob reads the pack and the journal of a job.
func (a *app) loadJob(f jobFlags) (*pack.Pack, *journal.State, error) {
	if f.Pack == "" {
		hint := "name one, like --pack my-engine.pack, or try --demo"
		if f.Journal != "" && natureOfFile(f.Journal) == aPack {
			hint = f.Journal + " is a pack: name it with --pack, and the journal with --journal"
		}
		return nil, nil, misused("--pack", hint, "no engine pack is named")
	}
	p, err := a.loadPack(f.Pack)
	if err != nil {
		if f.Journal != "" && natureOfFile(f.Pack) == aJournal && natureOfFile(f.Journal) == aPack {
			return nil, nil, failedArgument("--pack", "change the two over: --pack "+shellWord(f.Journal)+" --journal "+shellWord(f.Pack), "--pack names a journal, and --journal a pack")
		}
		return nil, nil, err
	}
	if f.Journal == "" {
		return p, journal.Read(nil).Fold(), nil
	}
	text, err := a.readInput(f.Journal)
	if err != nil {
		return nil, nil, err
	}
	done := a.watch("reading the journal")
	j := journal.Read(text)
	done()
	if len(j.Received()) == 0 {
		if is := natureOf(text); is != aJournal && is != unknown {
			return nil, nil, notJournal(shownName(f.Journal), is)
		}
	}
	return p, j.Fold(), nil
}

func parseTime(s string) (time.Time, error) {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.Parse(layout, s); err == nil {
			return t, nil
		}
	}
	return time.Time{}, misused("--now", "write it like 2026-03-02T10:04:00Z", "%q is not a time", s)
}

var suppositionPattern = regexp.MustCompile(`^\s*([A-Za-z_.][A-Za-z0-9_.]*)\s*(?:\[\s*"?([^\]"]*)"?\s*\])?\s*=\s*(.*)$`)

func parseSupposition(p *pack.Pack, s string) (assess.Supposition, error) {
	m := suppositionPattern.FindStringSubmatch(s)
	if m == nil {
		hint := `write it like --set "bore[front]=92.05 mm"`
		switch name, value, ok := strings.Cut(s, "="); {
		case !ok:
			hint = "write the value behind it: --set " + shellWord(s+"=92.05 mm")
		case !strings.Contains(name, "[") && len(strings.Fields(name)) > 1:
			words := strings.Fields(name)
			hint = "the place stands in square brackets: --set " + shellWord(fmt.Sprintf("%s[%s]=%s", words[0], strings.Join(words[1:], " "), value))
		}
		return assess.Supposition{}, misused("--set", hint, "%q does not suppose a value", s)
	}
	name := m[1]
	for _, kind := range []string{"dimension.", "number.", "sweep.", "slot.", "option."} {
		name = strings.TrimPrefix(name, kind)
	}
	x := assess.Supposition{Name: name, Place: strings.TrimSpace(m[2])}
	for _, o := range p.Options {
		if o.Name == name {
			x.Choice = unquoted("", strings.TrimSpace(m[3]))
			return x, nil
		}
	}
	slot, size, hasSize := strings.Cut(name, ".")
	for _, o := range p.Slots {
		switch {
		case o.Name == name:
			x.Choice = unquoted("", strings.TrimSpace(m[3]))
			return x, nil
		case o.Name == slot && hasSize:
			x.Name, x.Size = slot, size
		}
	}
	q, err := quantity.Parse(m[3])
	if err != nil {
		says, do := err.Error(), ""
		var pe *quantity.ParseError
		if errors.As(err, &pe) {
			says, do = pe.Says, pe.Do
		}
		return assess.Supposition{}, misused("--set", do, "in %q: %s", s, says)
	}
	x.Value = q.Value
	return x, nil
}

// unsupposable says why a value cannot be supposed: the name, the place or the unit.
func unsupposable(f *assess.Finding, out *assess.Assessment) error {
	var names, places []string
	var unit string
	for i := range out.Results {
		r := &out.Results[i]
		if r.Kind == "check" {
			continue
		}
		if r.Name == f.Of {
			places = append(places, r.Place)
			unit = r.Unit.Symbol
		} else if r.Place == f.Place {
			names = append(names, r.Name)
		}
	}
	at := f.Of
	if f.Place != "" {
		at += "[" + f.Place + "]"
	}
	if f.Do != "" {
		return misused("--set", f.Do, "%s cannot be supposed: %s", at, f.Detail)
	}
	like := func(place string) string {
		if place == "" {
			return f.Of + "=…"
		}
		return f.Of + "[" + place + "]=…"
	}
	switch {
	case len(places) == 0:
		hint := "assess --json lists every dimension and number with its place"
		if near := formula.Nearest(f.Of, names); near != "" {
			hint = "perhaps " + near + " is meant; " + hint
		}
		return misused("--set", hint, "%s cannot be supposed: this job has no dimension or number of that name", at)
	case !slices.Contains(places, f.Place):
		if len(places) == 1 && places[0] == "" {
			return misused("--set", "leave the brackets out: "+like(""), "%s cannot be supposed: %s is one for the whole engine and has no place", at, f.Of)
		}
		return misused("--set", "write the place in square brackets: "+like(places[0])+"; its places are "+strings.Join(places, ", "), "%s cannot be supposed: %s", at, missingPlace(f))
	}
	hint := ""
	if unit != "" && unit != "1" {
		hint = "give it a unit, like " + strings.TrimSuffix(like(f.Place), "…") + "… " + unit
	}
	return misused("--set", hint, "%s cannot be supposed: %s", at, f.Detail)
}

func missingPlace(f *assess.Finding) string {
	if f.Place == "" {
		return "its place is missing"
	}
	return "there is no " + f.Of + " at " + f.Place
}
