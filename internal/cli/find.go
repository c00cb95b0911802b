package cli

import (
	"fmt"
	"strings"

	"buttonup/internal/recall"
	"buttonup/internal/web"
)

type findCommand struct {
	dataFlags `embed:""`
	Words     []string `arg:"" help:"What to look for: words, a number, a lot, an engine number, an owner, a value."`
	Limit     int      `default:"20" help:"How many answers at most."`
	JSON      bool     `name:"json" help:"Print JSON."`
}

// foundJSON is one answer as scripts read it.
type foundJSON struct {
	Job   string `json:"job"`
	Title string `json:"title"`
	Event int64  `json:"event"`
	At    string `json:"at"`
	Kind  string `json:"kind"`
	Says  string `json:"says"`
}

// Run looks through all jobs.
func (c *findCommand) Run(a *app) error {
	question := strings.Join(c.Words, " ")
	if len(recall.Query(question)) == 0 {
		return misused("WORDS", "name what is looked for: buttonup find rear ring gap", "%q holds no word to look for", question)
	}
	s, err := c.reading(a)
	if err != nil {
		return err
	}
	defer s.Close()
	search := recall.Searcher{Record: s, Load: web.LoadPinned}
	done := a.watch("looking through the jobs")
	found, err := search.Find(a.context, question, max(c.Limit, 1))
	done()
	if err != nil {
		return storeError(err)
	}
	if a.json {
		list := make([]foundJSON, 0, len(found))
		for _, f := range found {
			list = append(list, foundJSON{f.Job, f.Title, f.Seq, f.At.Format("2006-01-02T15:04:05Z07:00"), f.Kind, f.Says})
		}
		a.printJSON(map[string]any{"found": list})
		return nil
	}
	if len(found) == 0 {
		fmt.Fprintln(a.out, "Nothing has all of these words. Try fewer, or another word for one of them.")
		return nil
	}
	last := ""
	for _, f := range found {
		if f.Job != last {
			fmt.Fprintf(a.out, "Job %s, %s\n", f.Job, f.Title)
			last = f.Job
		}
		fmt.Fprintf(a.out, "  %s\n", f.Says)
	}
	return nil
}
