package cli

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"

	"buttonup/internal/book"
	"buttonup/internal/store"
	"buttonup/journal"
)

func publicOf(key ed25519.PrivateKey) ed25519.PublicKey { return key.Public().(ed25519.PublicKey) }

// writeNewSecret writes a new file that only its owner may read.
func writeNewSecret(name string, text []byte) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return alreadyThere(name)
	}
	if err != nil {
		return writeError(name, err)
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		os.Remove(name)
		return writeError(name, err)
	}
	return nil
}

type verifyCommand struct {
	File string `arg:"" help:"A build book (PDF or HTML), a bundle, a journal, a backup, or a data folder."`
	JSON bool   `name:"json" help:"Print JSON."`
}

// verified is what was found of a file.
type verified struct {
	Kind   string           `json:"kind"`
	Whole  bool             `json:"whole"`
	Jobs   int              `json:"jobs,omitempty"`
	Events int              `json:"events,omitempty"`
	Photos int              `json:"photos,omitempty"`
	Sheets int              `json:"sheets,omitempty"`
	Seals  []verifiedSeal   `json:"signatures"`
	Damage []verifiedDamage `json:"damage"`
}

type verifiedSeal struct {
	// Of is what was signed, where it is not the file itself: "job".
	Of     string `json:"of,omitempty"`
	At     string `json:"at"`
	Key    string `json:"key"`
	Events int    `json:"events,omitempty"`
	Holds  bool   `json:"holds"`
	Says   string `json:"says,omitempty"`
}

type verifiedDamage struct {
	What  string `json:"what"`
	Name  string `json:"name,omitempty"`
	Job   string `json:"job,omitempty"`
	Event int64  `json:"event,omitempty"`
	Says  string `json:"says"`
}

// Run tells whether a file is whole.
func (c *verifyCommand) Run(a *app) error {
	name := atHome(c.File)
	info, err := os.Stat(name)
	if err != nil {
		return fileError(name, err)
	}
	done := a.watch("verifying")
	v, err := verify(a.context, name, info)
	done()
	if err != nil {
		return err
	}
	if v.Seals == nil {
		v.Seals = []verifiedSeal{}
	}
	if v.Damage == nil {
		v.Damage = []verifiedDamage{}
	}
	for _, s := range v.Seals {
		if !s.Holds && len(v.Damage) == 0 {
			v.Damage = append(v.Damage, verifiedDamage{What: "signature", Says: "the signature of " + s.At + " does not hold: " + s.Says})
		}
	}
	v.Whole = len(v.Damage) == 0
	if a.json {
		a.printJSON(v)
	} else {
		v.print(a, shownName(c.File))
	}
	if !v.Whole {
		return exit(ExitStops)
	}
	return nil
}

func (v *verified) print(a *app, name string) {
	var parts []string
	for _, p := range []struct {
		n    int
		word string
	}{{v.Jobs, "job"}, {v.Events, "event"}, {v.Photos, "photo"}, {v.Sheets, "sheet"}} {
		if p.n > 0 {
			parts = append(parts, count(p.n, p.word))
		}
	}
	state := "whole"
	if !v.Whole {
		state = "NOT WHOLE"
	}
	fmt.Fprintf(a.out, "%s: %s, %s", name, v.Kind, state)
	if len(parts) > 0 {
		fmt.Fprintf(a.out, " (%s)", strings.Join(parts, ", "))
	}
	fmt.Fprintln(a.out)
	for _, d := range v.Damage {
		fmt.Fprintf(a.out, "  %s\n", d.Says)
	}
	for _, s := range v.Seals {
		if s.Holds && s.Of != "" {
			fmt.Fprintf(a.out, "The "+s.Of+", closed and signed %s with the key %s…: holds\n", s.At, s.Key[:16])
		} else if s.Holds {
			fmt.Fprintf(a.out, "Signed %s with the key %s…: holds\n", s.At, s.Key[:16])
		}
	}
	if v.Whole && len(v.Seals) == 0 {
		fmt.Fprintln(a.out, "It carries no signature: whoever can change it can make its sums anew.")
	}
}

func verify(ctx context.Context, name string, info fs.FileInfo) (*verified, error) {
	if info.IsDir() {
		return verifyFolder(ctx, name)
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	defer f.Close()
	head := make([]byte, 4096)
	n, _ := io.ReadFull(f, head)
	head = head[:n]
	switch {
	case store.IsBundle(head):
		return verifyBundle(ctx, f, info.Size())
	case bytes.HasPrefix(head, []byte("PK")):
		if v, err := verifyBackup(f, info.Size()); err == nil {
			return v, nil
		}
		return verifyBundle(ctx, f, info.Size())
	case bytes.Contains(head[:min(n, 1024)], []byte("%PDF-")), book.LooksSealed(head):
		return verifyBook(name)
	}
	text, err := readFile(name)
	if err != nil {
		return nil, err
	}
	if book.HasSums(text) {
		return bookReport(text), nil
	}
	if len(journal.Read(text).Received()) > 0 {
		return verifyJournal(text), nil
	}
	return nil, failed("name a book, a bundle, a journal, a backup or a data folder of Buttonup", "%s is nothing that Buttonup can verify", shownName(name))
}

func verifyBook(name string) (*verified, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	return bookReport(text), nil
}

func bookReport(text []byte) *verified {
	r := book.CheckSums(text)
	v := &verified{Kind: "build book", Photos: r.Photos, Sheets: r.Sheets}
	for _, d := range r.Damage {
		v.Damage = append(v.Damage, verifiedDamage{What: d.What, Name: d.Name, Says: d.Says})
	}
	for _, s := range r.Seals {
		v.Seals = append(v.Seals, verifiedSeal{Of: "job", At: s.At, Key: s.Key, Events: s.Events, Holds: s.Wrong == "", Says: s.Wrong})
	}
	if r.Key != "" {
		v.Seals = append(v.Seals, verifiedSeal{At: r.Made, Key: r.Key, Holds: r.Signature == "", Says: r.Signature})
	}
	return v
}

func verifyBundle(ctx context.Context, f io.ReaderAt, size int64) (*verified, error) {
	c, err := store.CheckBundle(ctx, f, size)
	if err != nil {
		var told *store.Error
		if errors.As(err, &told) && errors.Is(err, store.ErrDamaged) {
			return &verified{Kind: "bundle", Damage: []verifiedDamage{{What: "file", Says: told.Says}}}, nil
		}
		return nil, storeError(err)
	}
	v := &verified{Kind: "bundle of job " + c.Job, Events: c.Events, Photos: c.Photos}
	for _, d := range c.Damage {
		v.Damage = append(v.Damage, verifiedDamage{d.What, d.Name, d.Job, d.Seq, d.Says})
	}
	for _, s := range c.Seals {
		v.Seals = append(v.Seals, verifiedSeal{At: s.At, Key: s.Key, Events: s.Events, Holds: s.Wrong == "", Says: s.Wrong})
	}
	return v, nil
}

func verifyJournal(text []byte) *verified {
	j := journal.Read(text)
	received := j.Received()
	v := &verified{Kind: "journal", Events: len(received)}
	for _, p := range j.Problems {
		v.Damage = append(v.Damage, verifiedDamage{What: "event", Event: int64(p.Line), Says: p.Error()})
	}
	heads := journal.Heads(received)
	for i, e := range received {
		if seal, ok := e.Body.(journal.Seal); ok {
			wrong := journal.CheckSeal(seal, e.At, i, heads, "")
			v.Seals = append(v.Seals, verifiedSeal{At: e.At.Format(time.RFC3339), Key: seal.Key, Events: seal.Events, Holds: wrong == "", Says: wrong})
		}
	}
	return v
}

func verifyFolder(ctx context.Context, name string) (*verified, error) {
	s, err := store.OpenReading(name, store.Options{})
	if err != nil {
		var told *store.Error
		if errors.As(err, &told) && errors.Is(err, store.ErrDamaged) {
			return &verified{Kind: "data folder", Damage: []verifiedDamage{{What: "database", Says: told.Says}}}, nil
		}
		return nil, storeError(err)
	}
	defer s.Close()
	r, err := s.Verify(ctx)
	if err != nil {
		var told *store.Error
		if errors.As(err, &told) && errors.Is(err, store.ErrDamaged) {
			return &verified{Kind: "data folder", Damage: []verifiedDamage{{What: "database", Says: told.Says}}}, nil
		}
		return nil, storeError(err)
	}
	v := &verified{Kind: "data folder", Jobs: r.Jobs, Events: r.Events, Photos: r.Photos}
	for _, d := range r.Damage {
		what := d.What
		switch {
		case what != "":
		case d.Seq > 0:
			what = "event"
		case strings.HasPrefix(d.Says, "photo "):
			what = "photo"
		default:
			what = "database"
		}
		v.Damage = append(v.Damage, verifiedDamage{what, d.Name, d.Job, d.Seq, d.Says})
	}
	jobs, err := s.Jobs(ctx)
	if err != nil {
		return nil, storeError(err)
	}
	for _, job := range jobs {
		j, err := s.Journal(ctx, job.ID)
		if err != nil {
			continue // told of above
		}
		heads := journal.Heads(j.Received())
		for i, e := range j.Received() {
			if seal, ok := e.Body.(journal.Seal); ok {
				wrong := journal.CheckSeal(seal, e.At, i, heads, "")
				v.Seals = append(v.Seals, verifiedSeal{At: "of job " + job.ID + " on " + e.At.Format(time.RFC3339), Key: seal.Key, Events: seal.Events, Holds: wrong == "", Says: wrong})
			}
		}
	}
	return v, nil
}

// verifyBackup checks the sums of a backup; restoring it checks the record itself.
func verifyBackup(f io.ReaderAt, size int64) (*verified, error) {
	z, err := zip.NewReader(f, size)
	if err != nil {
		return nil, err
	}
	var m struct {
		Format string
		Files  []struct{ Name, SHA256 string }
	}
	r, err := z.Open("manifest.json")
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if err := json.NewDecoder(r).Decode(&m); err != nil || !strings.HasPrefix(m.Format, "buttonup-backup-") {
		return nil, errors.New("no backup")
	}
	v := &verified{Kind: "backup"}
	for _, file := range m.Files {
		in, err := z.Open(file.Name)
		if err == nil {
			h := sha256.New()
			_, err = io.Copy(h, in)
			in.Close()
			if err == nil && hex.EncodeToString(h.Sum(nil)) != file.SHA256 {
				err = errors.New("it was changed")
			}
		}
		if strings.HasPrefix(file.Name, "photos/") {
			v.Photos++
		}
		if err != nil {
			v.Damage = append(v.Damage, verifiedDamage{What: "file", Name: file.Name, Says: fmt.Sprintf("%s in the backup is not whole: %v", file.Name, err)})
		}
	}
	return v, nil
}
