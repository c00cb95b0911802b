package cli

import (
	"regexp"
	"strings"
	"time"

	"buttonup/assess"
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

type assessCommand struct {
	jobFlags `embed:""`
	Demo     bool     `help:"Assess the invented demo engine, in mid-inspection."`
	Now      string   `placeholder:"TIME" help:"The time to assess for, like 2026-03-02T10:04:00Z; left out: now."`
	Set      []string `placeholder:"NAME[PLACE]=VALUE" sep:"none" help:"Suppose a value without writing it down; may be given several times."`
	All      bool     `help:"Show every note and every blocked operation too."`
	JSON     bool     `name:"json" help:"Print JSON."`
}

// Run assesses a job.
func (c *assessCommand) Run(a *app) error {
	p, state, err := c.job(a)
	if err != nil {
		return err
	}
	options := assess.Options{Now: a.now()}
	if c.Now != "" {
		if options.Now, err = parseTime(c.Now); err != nil {
			return err
		}
	}
	for _, s := range c.Set {
		x, err := parseSupposition(s)
		if err != nil {
			return err
		}
		options.Suppose = append(options.Suppose, x)
	}
	done := a.watch("assessing")
	out := assess.Assess(p, state, options)
	done()
	for i := range out.Findings {
		if f := &out.Findings[i]; f.Code == assess.CodeSupposedUnknown {
			s := words.Finding(f)
			return misused("--set", s.Do, "%s", s.Says)
		}
	}
	if a.json {
		a.printJSON(words.Make(out))
	} else {
		printAssessment(a.out, out, c.All)
	}
	if out.Stops() > 0 {
		return exit(ExitStops)
	}
	return nil
}

func (c *assessCommand) job(a *app) (*pack.Pack, *journal.State, error) {
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
	return a.loadJob(c.jobFlags)
}

// loadJob reads the pack and the journal of a job.
func (a *app) loadJob(f jobFlags) (*pack.Pack, *journal.State, error) {
	if f.Pack == "" {
		return nil, nil, misused("--pack", "name one, like --pack my-engine.pack, or try --demo", "no engine pack is named")
	}
	p, err := a.loadPack(f.Pack)
	if err != nil {
		return nil, nil, err
	}
	var text []byte
	if f.Journal != "" {
		if text, err = a.readInput(f.Journal); err != nil {
			return nil, nil, err
		}
	}
	return p, journal.Read(text).Fold(), nil
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

func parseSupposition(s string) (assess.Supposition, error) {
	m := suppositionPattern.FindStringSubmatch(s)
	if m == nil {
		return assess.Supposition{}, misused("--set", `write it like --set 'bore[front]=92.05 mm'`, "%q does not suppose a value", s)
	}
	q, err := quantity.Parse(m[3])
	if err != nil {
		pe := err.(*quantity.ParseError)
		return assess.Supposition{}, misused("--set", pe.Do, "in %q: %s", s, pe.Says)
	}
	name := m[1]
	for _, kind := range []string{"dimension.", "number.", "sweep."} {
		name = strings.TrimPrefix(name, kind)
	}
	return assess.Supposition{Name: name, Place: strings.TrimSpace(m[2]), Value: q.Value}, nil
}
