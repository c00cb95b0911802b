package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
)

type jobCommands struct {
	New    jobNew    `cmd:"" help:"Start a job on an engine pack, whose exact text it keeps."`
	List   jobList   `cmd:"" help:"List the jobs of the record."`
	Import jobImport `cmd:"" help:"Add a bundle, or a journal (JSON Lines) to a job; what is there already counts once."`
	Export jobExport `cmd:"" help:"Write a job into one file: a bundle, or its journal alone."`
	Close  jobClose  `cmd:"" help:"Sign a job that is finished."`
	Add    jobAdd    `cmd:"" help:"Add a dated page to a job that is closed."`
}

// newJobFlags say what a job is started with.
type newJobFlags struct {
	Pack  string `placeholder:"PATH" help:"The engine pack: a file, a folder, or the ID of one that the program carries."`
	Title string `placeholder:"TEXT" help:"What the job is called."`
}

type jobNew struct {
	dataFlags   `embed:""`
	newJobFlags `embed:""`
	ID          string `name:"id" placeholder:"ID" help:"The job's number; left out: one is made."`
	JSON        bool   `name:"json" help:"Print JSON."`
}

type jobReport struct {
	ID      string `json:"id"`
	Title   string `json:"title"`
	Created string `json:"created"`
	Changed string `json:"changed"`
	Events  int64  `json:"events"`
}

func reportJob(j store.Job) jobReport {
	return jobReport{j.ID, j.Title, j.Created.UTC().Format(time.RFC3339), j.Changed.UTC().Format(time.RFC3339), j.Events}
}

// record opens the record for writing.
func (f dataFlags) record(a *app) (*store.Store, error) {
	folder, err := f.folder()
	if err != nil {
		return nil, err
	}
	s, err := store.Open(folder, store.Options{Now: a.now, Holder: "buttonup " + strings.Join(os.Args[1:min(3, len(os.Args))], " ")})
	if err != nil {
		return nil, storeError(err)
	}
	// The first run makes the key that the shop signs with.
	if _, err := s.SigningKey(); err != nil {
		s.Close()
		return nil, storeError(err)
	}
	return s, nil
}

// reading opens the record to look at it, also while a server has it.
func (f dataFlags) reading(a *app) (*store.Store, error) {
	folder, err := f.folder()
	if err != nil {
		return nil, err
	}
	s, err := store.OpenReading(folder, store.Options{Now: a.now})
	return s, storeError(err)
}

// start starts a job on a pack that was checked.
func (f newJobFlags) start(a *app, s *store.Store, id string) (store.Job, error) {
	switch {
	case f.Pack == "":
		return store.Job{}, misused("--pack", "name one, like --pack my-engine.pack", "no engine pack is named")
	case strings.TrimSpace(f.Title) == "":
		return store.Job{}, misused("--title", `give one, like --title "V1150, customer 41"`, "the job has no title")
	}
	texts, err := f.texts()
	if err != nil {
		return store.Job{}, err
	}
	j, err := s.CreateJob(a.context, store.NewJob{ID: id, Title: f.Title, Texts: texts})
	return j, storeError(err)
}

// texts reads the pack and every template that it took in.
func (f newJobFlags) texts() (store.Texts, error) {
	files, err := packFiles(f.Pack)
	if err != nil {
		return store.Texts{}, err
	}
	var texts store.Texts
	find := finder(f.Pack)
	seen := map[string]bool{}
	_, mistakes := pack.Load(files, func(id string) ([]pack.File, bool) {
		list, ok := find(id)
		if ok && !seen[id] {
			seen[id] = true
			texts.Templates = append(texts.Templates, store.Template{ID: id, Files: named(list)})
		}
		return list, ok
	})
	if len(mistakes) > 0 {
		return store.Texts{}, &failure{Says: fmt.Sprintf("the pack has %s; no job was started", count(len(mistakes), "mistake")), Hint: "mend them and check again with: buttonup pack check " + f.Pack, Mistakes: mistakes, Code: ExitMistakes}
	}
	texts.Pack = named(files)
	return texts, nil
}

func named(files []pack.File) []store.NamedText {
	var list []store.NamedText
	for _, f := range files {
		list = append(list, store.NamedText{Name: filepath.ToSlash(f.Name), Text: f.Text})
	}
	return list
}

// Run starts a job.
func (c *jobNew) Run(a *app) error {
	s, err := c.record(a)
	if err != nil {
		return err
	}
	defer s.Close()
	j, err := c.start(a, s, c.ID)
	if err != nil {
		return err
	}
	if a.json {
		a.printJSON(reportJob(j))
		return nil
	}
	fmt.Fprintf(a.out, "Job %s: %s\n", j.ID, j.Title)
	return nil
}

type jobList struct {
	dataFlags `embed:""`
	JSON      bool `name:"json" help:"Print JSON."`
}

// Run lists the jobs.
func (c *jobList) Run(a *app) error {
	s, err := c.reading(a)
	if err != nil {
		return err
	}
	defer s.Close()
	jobs, err := s.Jobs(a.context)
	if err != nil {
		return storeError(err)
	}
	if a.json {
		list := make([]jobReport, 0, len(jobs))
		for _, j := range jobs {
			list = append(list, reportJob(j))
		}
		a.printJSON(map[string]any{"jobs": list})
		return nil
	}
	if len(jobs) == 0 {
		fmt.Fprintln(a.out, "There is no job yet. Start one with: buttonup job new --pack PATH --title TEXT")
	}
	for _, j := range jobs {
		fmt.Fprintf(a.out, "%-26s  %s, %s\n", j.ID, j.Title, count(int(j.Events), "event"))
	}
	return nil
}

type jobImport struct {
	dataFlags   `embed:""`
	newJobFlags `embed:""`
	File        string `arg:"" help:"The bundle or journal (JSON Lines); - for a journal on standard input."`
	Job         string `placeholder:"ID" help:"The job to add to. With --pack and --title it is started if it is not there. For a bundle: another id for it."`
	JSON        bool   `name:"json" help:"Print JSON."`
}

// Run adds a journal to a job.
func (c *jobImport) Run(a *app) error {
	if isBundleFile(c.File) {
		return c.runBundle(a)
	}
	if c.Job == "" && c.Pack == "" {
		return misused("--job", "name the job with --job, or start one with --pack and --title", "it is not said which job the journal belongs to")
	}
	text, err := a.readInput(c.File)
	if err != nil {
		return err
	}
	s, err := c.record(a)
	if err != nil {
		return err
	}
	defer s.Close()
	id := c.Job
	if c.Pack != "" {
		if c.Title == "" {
			if state := journal.Read(text).Fold(); state.Job != nil {
				c.Title = state.Job.Title
			}
		}
		j, err := c.start(a, s, id)
		if err != nil {
			return err
		}
		id = j.ID
	}
	done, err := s.Import(a.context, id, text)
	if err != nil {
		return storeError(err)
	}
	if a.json {
		problems := []string{}
		for _, p := range done.Problems {
			problems = append(problems, p.Error())
		}
		a.printJSON(map[string]any{"job": id, "kept": done.Kept, "already": done.Already, "different": done.Different, "refused": done.Refused, "chained": done.Chained, "problems": problems})
		return nil
	}
	fmt.Fprintf(a.out, "Job %s: %s kept, %d there already", id, count(done.Kept, "event"), done.Already)
	if n := done.Different + done.Refused; n > 0 {
		fmt.Fprintf(a.out, ", %d set aside", n)
	}
	fmt.Fprintln(a.out)
	for _, p := range done.Problems {
		fmt.Fprintf(a.out, "  %v\n", p)
	}
	return nil
}

type jobExport struct {
	dataFlags `embed:""`
	ID        string `arg:"" name:"id" help:"The job."`
	Out       string `placeholder:"FILE" help:"The file to write. Its ending says what: .jsonl for the journal alone, any other, like .buttonup, for a bundle. Left out: the journal on standard output."`
	JSON      bool   `name:"json" help:"Errors and what was written as JSON; the journal itself is JSON Lines in any case."`
}

// Run writes a bundle or a journal.
func (c *jobExport) Run(a *app) error {
	s, err := c.reading(a)
	if err != nil {
		return err
	}
	defer s.Close()
	if lower := strings.ToLower(c.Out); c.Out != "" && !strings.HasSuffix(lower, ".jsonl") && !strings.HasSuffix(lower, ".json") && !strings.HasSuffix(lower, ".txt") {
		return c.bundle(a, s)
	}
	text, err := s.Export(a.context, c.ID)
	if err != nil {
		return storeError(err)
	}
	if c.Out != "" {
		return a.change(c.Out, func() error { return writeNew(atHome(c.Out), text) })
	}
	_, err = a.out.Write(text)
	return err
}

// writeNew writes a file that must not be there yet, whole or not at all.
func writeNew(name string, text []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return failed("choose another name", "%s is already there", name)
	}
	if err != nil {
		return writeError(name, err)
	}
	if _, err = f.Write(text); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		os.Remove(name)
		return writeError(name, err)
	}
	return nil
}
