package cli

import (
	"fmt"

	"buttonup/assess"
	"buttonup/words"
)

// candidateJSON is one part for a slot.
type candidateJSON struct {
	Part    string   `json:"part"`
	Fits    bool     `json:"fits"`
	Value   *figure  `json:"value,omitempty"`
	Verdict string   `json:"verdict,omitempty"`
	Off     *figure  `json:"off,omitempty"`
	Because []string `json:"because,omitempty"`
}

// chooseOne ranks the parts of the pack for one slot: the best, the second best, and the
// others behind them.
func (c *selectfitCommand) chooseOne(a *app) error {
	if c.Slot == "" {
		return misused("--slot", "name one, like --slot cam_shim", "it is not said which slot a part is chosen for")
	}
	if c.By != "" && c.Wanted != "" {
		return misused("--wanted", "give one of the two", "--by and --wanted are both given")
	}
	p, state, err := a.loadJob(c.jobFlags)
	if err != nil {
		return err
	}
	p, _ = assess.WithExtras(p, state)
	m := assess.Prepare(p)
	options := assess.Options{Now: a.now()}
	var list []assess.Candidate
	if c.By != "" {
		list, err = m.Candidates(state, options, c.Slot, c.At, c.By, c.At)
		if err != nil && c.At != "" { // a number for the whole engine
			list, err = m.Candidates(state, options, c.Slot, c.At, c.By, "")
		}
	} else {
		list, err = m.Nearest(state, options, c.Slot, c.At, c.Size, c.Wanted, c.At)
		if err != nil && c.At != "" {
			list, err = m.Nearest(state, options, c.Slot, c.At, c.Size, c.Wanted, "")
		}
	}
	if err != nil {
		return misused("--slot", "buttonup assess --json lists slots, numbers and their places; give the place with --at", "%v", err)
	}
	if a.json {
		out := []candidateJSON{}
		for i := range list {
			out = append(out, c.candidate(&list[i]))
		}
		a.printJSON(map[string]any{"slot": c.Slot, "place": c.At, "candidates": out})
	} else {
		c.printCandidates(a, list)
	}
	if !list[0].Fits() && c.By != "" || list[0].Misfit != nil {
		return exit(ExitStops)
	}
	return nil
}

func (c *selectfitCommand) candidate(x *assess.Candidate) candidateJSON {
	out := candidateJSON{Part: x.Part, Fits: x.Misfit == nil}
	if r := x.Result; r != nil {
		out.Fits = x.Fits() || c.Wanted != "" && x.Misfit == nil
		v := r.Value
		out.Value = &figure{&v, words.Value(r)}
		if c.By != "" {
			out.Verdict = r.Verdict.String()
		} else {
			off := x.Off
			out.Off = &figure{&off, r.Unit.DifferenceText(off, max(r.Decimals, 0))}
		}
	}
	if x.Misfit != nil {
		out.Because = words.MisfitReasons(x.Misfit)
	}
	return out
}

func (c *selectfitCommand) printCandidates(a *app, list []assess.Candidate) {
	for i := range list {
		x := &list[i]
		switch {
		case i == 0 && x.Misfit == nil:
			fmt.Fprintln(a.out, "BEST")
		case i == 1 && x.Misfit == nil:
			fmt.Fprintln(a.out, "\nSECOND BEST")
		case i == 2:
			fmt.Fprintln(a.out, "\nTHE OTHERS")
		}
		says := "no value yet"
		if r := x.Result; r != nil && c.By != "" {
			says = fmt.Sprintf("%s %s, %s", words.Title(r.Title, r.Place), words.Measured(r), words.Verdict(r))
		} else if r != nil {
			says = fmt.Sprintf("%s from the %s wanted", r.Unit.DifferenceText(x.Off, max(r.Decimals, 0)), words.Value(r))
		}
		fmt.Fprintf(a.out, "  %-16s %s\n", x.Part, says)
		if x.Misfit != nil {
			for _, b := range words.MisfitReasons(x.Misfit) {
				fmt.Fprintf(a.out, "    does not fit: %s\n", b)
			}
		}
	}
}
