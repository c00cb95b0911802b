package cli

import (
	"fmt"
	"strings"
	"time"

	"buttonup/internal/store"
	"buttonup/journal"
)

type jobClose struct {
	dataFlags `embed:""`
	ID        string `arg:"" name:"id" help:"The job."`
	By        string `placeholder:"NAME" help:"Who closes it."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run signs a job.
func (c *jobClose) Run(a *app) error {
	s, err := c.record(a)
	if err != nil {
		return err
	}
	defer s.Close()
	e, err := s.CloseJob(a.context, c.ID, c.By)
	if err != nil {
		return storeError(err)
	}
	seal := e.Body.(journal.Seal)
	if a.json {
		a.printJSON(map[string]any{"job": c.ID, "events": seal.Events, "chain": seal.Head, "pack": seal.PackSum, "at": e.At.Format(time.RFC3339), "key": seal.Key, "signature": seal.Signature})
		return nil
	}
	fmt.Fprintf(a.out, "Job %s is closed and signed: %s, record mark %s\n", c.ID, count(seal.Events, "event"), markOf(seal.Head))
	return nil
}

// markOf writes the first digits of a hash as they stand on the sheets.
func markOf(head string) string {
	d := strings.ToUpper(head[:16])
	return d[:4] + " " + d[4:8] + " " + d[8:12] + " " + d[12:]
}

type jobAdd struct {
	dataFlags `embed:""`
	ID        string `arg:"" name:"id" help:"The job."`
	Text      string `placeholder:"TEXT" help:"What is to be added."`
	By        string `placeholder:"NAME" help:"Who adds it."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run adds a dated page to a closed job.
func (c *jobAdd) Run(a *app) error {
	if strings.TrimSpace(c.Text) == "" {
		return misused("--text", `write it in quotes: --text "head nuts checked at 800 km"`, "there is nothing to add")
	}
	s, err := c.record(a)
	if err != nil {
		return err
	}
	defer s.Close()
	j, err := s.Journal(a.context, c.ID)
	if err != nil {
		return storeError(err)
	}
	if len(j.Fold().Seals) == 0 {
		return failed("close it first: buttonup job close "+shellWord(c.ID), "job %s is not closed, so there is nothing to add to", c.ID)
	}
	e := journal.New(s.NewID(), a.now().UTC().Truncate(time.Second), c.By, journal.Addition{Text: c.Text})
	line, err := e.Encode()
	if err != nil {
		return failed("", "%v", err)
	}
	if _, err := s.Append(a.context, c.ID, line); err != nil {
		return storeError(err)
	}
	if a.json {
		a.printJSON(map[string]any{"job": c.ID, "event": e.ID, "at": e.At.Format(time.RFC3339)})
		return nil
	}
	fmt.Fprintf(a.out, "Added to job %s; the first signature stays valid.\n", c.ID)
	return nil
}

type keyCommand struct {
	dataFlags `embed:""`
	Private   bool   `help:"Write the private key too. Whoever has it can sign as this shop."`
	Out       string `placeholder:"FILE" help:"The file to write; left out: standard output."`
	JSON      bool   `name:"json" help:"Print JSON."`
}

// Run shows the key that the shop signs with.
func (c *keyCommand) Run(a *app) error {
	if c.Private && c.Out == "" {
		return misused("--out", "name a file for it: --out key.pem", "a private key is not printed on a screen")
	}
	s, err := c.reading(a)
	if err != nil {
		return err
	}
	defer s.Close()
	key, err := s.SigningKey()
	if err != nil {
		return storeError(err)
	}
	public := publicOf(key)
	text := store.PublicPEM(public)
	if c.Private {
		text = store.PrivatePEM(key)
	}
	if c.Out != "" {
		mode := writeNew
		if c.Private {
			mode = writeNewSecret
		}
		if err := a.change(c.Out, func() error { return mode(atHome(c.Out), text) }); err != nil {
			return err
		}
	}
	switch {
	case a.json:
		a.printJSON(map[string]any{"key": fmt.Sprintf("%x", public), "file": c.Out, "private": c.Private})
	case c.Out == "":
		a.out.Write(text)
	default:
		fmt.Fprintf(a.out, "Written: %s\n", c.Out)
	}
	return nil
}
