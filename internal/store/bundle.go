package store

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path"
	"slices"
	"strings"

	"buttonup/journal"
)

// The files in a bundle, in this order.
const (
	formatBundle = "buttonup-bundle-1"
	nameJournal  = "journal.jsonl"
	nameAsides   = "asides.jsonl"
	nameSums     = "SHA256SUMS"
	dirPack      = "pack/"
	dirTemplates = "templates/"
	dirBundled   = "photos/"
)

// bundleManifest tells what a bundle holds. It names no moment at which the bundle was
// made, so that the same job gives the same file.
type bundleManifest struct {
	Format  string       `json:"format"`
	Job     string       `json:"job"`
	Title   string       `json:"title"`
	Created string       `json:"created"`
	Events  int          `json:"events"`
	Head    string       `json:"head"`
	Pack    string       `json:"pack"`
	Files   []bundleText `json:"files"`
	// Photos counts those that are in the bundle; Missing names those that the journal
	// names and the record did not have.
	Photos  int      `json:"photos"`
	Missing []string `json:"missing"`
}

// bundleText is a file of the pack or of a template.
type bundleText struct {
	Entry    string `json:"entry"`
	Name     string `json:"name"`
	Template string `json:"template,omitempty"`
	SHA256   string `json:"sha256"`
}

// Bundled is what went into a bundle.
type Bundled struct {
	Events, Photos, Seals int
	Missing               []string
}

// Bundle writes a job into one file: its pack text, its journal with the chain, its
// photos, its signatures as other programs read them, and the sums of all of these.
// The same job gives the same bytes. A chain that does not hold is of kind ErrDamaged,
// and nothing is written.
func (s *Store) Bundle(ctx context.Context, job string, w io.Writer) (Bundled, error) {
	operation := "bundle job " + job
	if err := s.enter(operation, false); err != nil {
		return Bundled{}, err
	}
	defer s.calls.Done()
	done, err := s.bundle(ctx, job, w)
	return done, explain(operation, err)
}

func (s *Store) bundle(ctx context.Context, id string, w io.Writer) (done Bundled, err error) {
	job, err := s.job(ctx, id)
	if err != nil {
		return done, err
	}
	texts, err := s.texts(ctx, id)
	if err != nil {
		return done, err
	}
	stored, err := s.read(ctx, id, 0)
	if err != nil {
		return done, err
	}
	if damage := checkChain(id, stored); damage != nil {
		return done, refuse(ErrDamaged, "compare with the last backup: buttonup verify tells more", "%s", damage.Says)
	}
	asides, err := s.asides(ctx, id)
	if err != nil {
		return done, err
	}
	m := bundleManifest{Format: formatBundle, Job: id, Title: job.Title, Created: formatTime(job.Created), Events: len(stored), Head: hex.EncodeToString(job.Head[:]), Pack: texts.Sum(), Files: []bundleText{}, Missing: []string{}}
	b := &summedWriter{bundleWriter: bundleWriter{w: w}}
	events := make([]journal.Event, len(stored))
	var photos []string
	for i := range stored {
		events[i].Bytes = stored[i].Bytes
		e, err := journal.Decode(stored[i].Bytes)
		if p, ok := e.Body.(journal.Photo); ok && err == nil && !slices.Contains(photos, p.SHA256) {
			photos = append(photos, p.SHA256)
		}
	}
	contents := map[string][]byte{}
	var names []string
	keep := func(name string, content []byte) {
		names = append(names, name)
		contents[name] = content
	}
	keep(nameJournal, journal.Export(events))
	if len(asides) > 0 {
		var lines []byte
		for _, a := range asides {
			lines = append(append(lines, a.Bytes...), '\n')
		}
		keep(nameAsides, lines)
	}
	text := func(entry, template string, f NamedText) {
		sum := sha256.Sum256(f.Text)
		m.Files = append(m.Files, bundleText{entry, f.Name, template, hex.EncodeToString(sum[:])})
		keep(entry, f.Text)
	}
	for _, f := range texts.Pack {
		text(dirPack+f.Name, "", f)
	}
	for i, t := range texts.Templates {
		for _, f := range t.Files {
			text(fmt.Sprintf("%s%d/%s", dirTemplates, i+1, f.Name), t.ID, f)
		}
	}
	n := 0
	for _, e := range stored {
		event, err := journal.Decode(e.Bytes)
		seal, ok := event.Body.(journal.Seal)
		if !ok || err != nil {
			continue
		}
		n++
		keep(fmt.Sprintf("seal-%d.txt", n), journal.SealMessage(seal, event.At))
		if raw, err := hex.DecodeString(seal.Signature); err == nil {
			keep(fmt.Sprintf("seal-%d.sig", n), raw)
		}
		if key, err := hex.DecodeString(seal.Key); err == nil && len(key) == ed25519.PublicKeySize {
			keep(fmt.Sprintf("seal-%d.pem", n), PublicPEM(key))
		}
	}
	var there []string
	for _, sha := range photos {
		if _, err := os.Stat(s.photos.path(sha)); err != nil {
			m.Missing = append(m.Missing, sha)
			continue
		}
		there = append(there, sha)
	}
	m.Photos = len(there)
	head, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return done, err
	}
	if err := b.put(nameManifest, append(head, '\n')); err != nil {
		return done, err
	}
	for _, name := range names {
		if err := b.put(name, contents[name]); err != nil {
			return done, err
		}
	}
	for _, sha := range there {
		if err := ctx.Err(); err != nil {
			return done, err
		}
		photo, err := os.ReadFile(s.photos.path(sha))
		if err != nil {
			return done, err
		}
		if err := b.put(dirBundled+sha, photo); err != nil {
			return done, err
		}
	}
	if err := b.add(nameSums, b.sums.Bytes()); err != nil {
		return done, err
	}
	return Bundled{Events: len(stored), Photos: len(there), Seals: n, Missing: m.Missing}, b.close()
}

// summedWriter notes the sum of each entry, as sha256sum writes it.
type summedWriter struct {
	bundleWriter
	sums bytes.Buffer
}

func (w *summedWriter) put(name string, content []byte) error {
	sum := sha256.Sum256(content)
	fmt.Fprintf(&w.sums, "%x  %s\n", sum, name)
	return w.add(name, content)
}

// Checked is what was found of a bundle.
type Checked struct {
	Job, Title            string
	Events, Photos, Files int
	Seals                 []CheckedSeal
	Damage                []Damage
	manifest              bundleManifest
	texts                 Texts
	journal, asides       []byte
}

// CheckedSeal is a signature and what is wrong with it, "" for nothing.
type CheckedSeal struct {
	At     string
	Key    string
	Events int
	Wrong  string
}

// IsBundle says whether a file begins as a bundle does.
func IsBundle(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) && bytes.Contains(head[:min(len(head), 64)], []byte(nameManifest))
}

// CheckBundle reads a bundle and holds every byte of it against what it should be. It
// names what is wrong: which event, photo, page of the pack, or part of the file. The
// error is of kind ErrDamaged when the file cannot be read as a bundle at all.
func CheckBundle(ctx context.Context, r io.ReaderAt, size int64) (*Checked, error) {
	c, err := checkBundle(ctx, r, size)
	return c, explain("check the bundle", err)
}

func checkBundle(ctx context.Context, r io.ReaderAt, size int64) (*Checked, error) {
	b, err := readBundle(r, size)
	if err != nil {
		return nil, err
	}
	c := &Checked{}
	sums := map[string]string{}
	var order []string
	if e, ok := b.find(nameSums); ok {
		for line := range strings.Lines(string(b.content(e))) {
			sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
			if ok {
				sums[name] = sum
				order = append(order, name)
			}
		}
	} else {
		c.damage("file", nameSums, 0, "the list of sums is missing")
	}
	frames := b.wrong
	told := map[string]bool{}
	for _, e := range b.entries {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		content := b.content(e)
		sum := sha256.Sum256(content)
		fits, listed := sums[e.name] == hex.EncodeToString(sum[:]), sums[e.name] != ""
		crc := crc32.ChecksumIEEE(content) == e.crc
		c.Files++
		switch {
		case e.name == nameSums:
			if !crc {
				c.damage("file", e.name, 0, "the list of sums was changed")
				told[e.name] = true
			}
		case fits && crc:
		case fits:
			// What is in it is right; the frame tells what is not.
		case crc && listed:
			c.damage("file", nameSums, 0, "the sum of %s in the list of sums was changed, or what it stands for", e.name)
		case crc:
			c.damage("file", e.name, 0, "%s stands in no line of the list of sums: it was put in, or the list was changed", e.name)
		default:
			c.contentDamage(e.name, content)
			told[e.name] = true
		}
		c.take(e.name, content)
	}
	for _, name := range order {
		if _, ok := b.find(name); !ok {
			c.damage("file", name, 0, "%s is missing, or its name was changed", name)
		}
	}
	c.interpret(b, told)
	for _, f := range frames {
		c.Damage = append(c.Damage, f)
	}
	return c, nil
}

func (c *Checked) damage(what, name string, event int64, format string, args ...any) {
	c.Damage = append(c.Damage, Damage{Job: c.Job, Seq: event, What: what, Name: name, Says: fmt.Sprintf(format, args...)})
}

// contentDamage says what was changed in an entry whose bytes are not those that were
// written.
func (c *Checked) contentDamage(name string, content []byte) {
	switch {
	case name == nameJournal:
		j := journal.Read(content)
		for _, p := range j.Problems {
			if p.Line > 0 {
				c.damage("event", name, int64(p.Line), "event %d was changed: %s", p.Line, p.Detail)
				return
			}
		}
		c.damage("event", name, firstBroken(content), "event %d was changed", firstBroken(content))
	case strings.HasPrefix(name, dirBundled):
		c.damage("photo", strings.TrimPrefix(name, dirBundled), 0, "photo %s was changed", strings.TrimPrefix(name, dirBundled))
	case strings.HasPrefix(name, dirPack), strings.HasPrefix(name, dirTemplates):
		c.damage("pack", name, 0, "the pack text %s was changed", name)
	default:
		c.damage("file", name, 0, "%s was changed", name)
	}
}

// firstBroken is the line of a journal at which its chain breaks, for one whose every
// line can be read.
func firstBroken(text []byte) int64 {
	var prev [32]byte
	n := int64(0)
	for line := range bytes.Lines(text) {
		n++
		j := journal.Read(line)
		if len(j.Received()) != 1 {
			return n
		}
		content := j.Received()[0].Bytes
		prev = journal.Chain(prev, content)
		if !bytes.Contains(line, []byte(hex.EncodeToString(prev[:]))) || !bytes.HasSuffix(line, []byte("}\n")) {
			return n
		}
	}
	return n
}

func (c *Checked) take(name string, content []byte) {
	switch {
	case name == nameManifest:
		_ = json.Unmarshal(content, &c.manifest) // a damaged one was told of
		c.Job, c.Title = c.manifest.Job, c.manifest.Title
	case name == nameJournal:
		c.journal = content
	case name == nameAsides:
		c.asides = content
	case strings.HasPrefix(name, dirBundled):
		c.Photos++
	}
}

// interpret holds the contents against one another: the chain, the signatures, the
// photos that are named, the texts.
func (c *Checked) interpret(b *bundleReader, told map[string]bool) {
	if c.manifest.Format != formatBundle && !told[nameManifest] {
		c.damage("file", nameManifest, 0, "the bundle is of the form %q, which this program does not know", c.manifest.Format)
	}
	j := journal.Read(c.journal)
	received := j.Received()
	c.Events = len(received)
	heads := journal.Heads(received)
	if !told[nameJournal] {
		if !j.Chained && len(received) > 0 {
			c.damage("event", nameJournal, 0, "the chain of the journal does not hold")
		}
		if !told[nameManifest] && (c.manifest.Events != len(received) || c.manifest.Head != hex.EncodeToString(heads[len(heads)-1][:])) {
			c.damage("event", nameJournal, int64(len(received)), "the journal does not end as the bundle says: events are missing or were put in")
		}
	}
	for _, f := range c.manifest.Files {
		e, ok := b.find(f.Entry)
		if !ok {
			continue
		}
		t := NamedText{Name: f.Name, Text: b.content(e)}
		if sum := sha256.Sum256(t.Text); hex.EncodeToString(sum[:]) != f.SHA256 && !told[f.Entry] {
			c.damage("pack", f.Entry, 0, "the pack text %s is not the one that the bundle names", f.Entry)
		}
		if f.Template == "" {
			c.texts.Pack = append(c.texts.Pack, t)
			continue
		}
		if n := len(c.texts.Templates); n == 0 || c.texts.Templates[n-1].ID != f.Template {
			c.texts.Templates = append(c.texts.Templates, Template{ID: f.Template})
		}
		last := &c.texts.Templates[len(c.texts.Templates)-1]
		last.Files = append(last.Files, t)
	}
	n := 0
	for i, e := range received {
		switch body := e.Body.(type) {
		case journal.Seal:
			n++
			wrong := journal.CheckSeal(body, e.At, i, heads, c.texts.Sum())
			c.Seals = append(c.Seals, CheckedSeal{At: e.At.Format("2006-01-02T15:04:05Z07:00"), Key: body.Key, Events: body.Events, Wrong: wrong})
			if wrong != "" && len(c.Damage) == 0 {
				c.damage("signature", fmt.Sprintf("seal-%d", n), int64(i+1), "signature %d does not hold: %s", n, wrong)
			}
			if f, ok := b.find(fmt.Sprintf("seal-%d.txt", n)); ok && !bytes.Equal(b.content(f), journal.SealMessage(body, e.At)) && !told[f.name] {
				c.damage("file", f.name, 0, "%s does not say what signature %d signs", f.name, n)
			}
		case journal.Photo:
			if _, ok := b.find(dirBundled + body.SHA256); !ok && !slices.Contains(c.manifest.Missing, body.SHA256) {
				c.damage("photo", body.SHA256, int64(i+1), "photo %s, which event %d names, is missing", body.SHA256, i+1)
			}
		}
	}
	for _, e := range b.entries {
		sha, ok := strings.CutPrefix(e.name, dirBundled)
		if !ok || told[e.name] {
			continue
		}
		if sum := sha256.Sum256(b.content(e)); hex.EncodeToString(sum[:]) != sha {
			c.damage("photo", path.Base(sha), 0, "photo %s has other content than its name says", sha)
		}
	}
}

// Whole says whether nothing is wrong.
func (c *Checked) Whole() bool { return len(c.Damage) == 0 }

// ImportedBundle is what ImportBundle did.
type ImportedBundle struct {
	Job Job
	// New is true when the job was not here before.
	New bool
	Imported
	// Photos is how many were new here.
	Photos int
}

// ImportBundle adds a job from a bundle. It changes nothing that is here: a job of the
// same id on the same pack gets the events that it lacks, and one on another pack is
// refused with ErrExists; as may then names another id. It can be done again. A bundle
// that is not whole is refused with ErrDamaged.
func (s *Store) ImportBundle(ctx context.Context, r io.ReaderAt, size int64, as string) (ImportedBundle, error) {
	const operation = "import the bundle"
	done, err := s.importBundle(ctx, r, size, as)
	return done, explain(operation, err)
}

func (s *Store) importBundle(ctx context.Context, r io.ReaderAt, size int64, as string) (done ImportedBundle, err error) {
	c, err := checkBundle(ctx, r, size)
	if err != nil {
		return done, err
	}
	if !c.Whole() {
		return done, refuse(ErrDamaged, "use another copy of it; buttonup verify tells all that is wrong", "it is not whole: %s", c.Damage[0].Says)
	}
	id := c.manifest.Job
	if as != "" {
		id = as
	}
	created, err := parseTime(c.manifest.Created)
	if err != nil {
		return done, refuse(ErrDamaged, "", "the time at which the job was started cannot be read")
	}
	_, err = s.Job(ctx, id)
	done.New = err != nil
	if done.Job, err = s.CreateJob(ctx, NewJob{ID: id, Title: c.manifest.Title, Texts: c.texts, At: created}); err != nil {
		return done, err
	}
	// Photos first: an event that names one comes after it.
	b, err := readBundle(r, size)
	if err != nil {
		return done, err
	}
	for _, e := range b.entries {
		sha, ok := strings.CutPrefix(e.name, dirBundled)
		if !ok {
			continue
		}
		if f, err := s.photos.open(sha); err == nil {
			f.Close()
			continue
		}
		if _, _, err := s.PutPhoto(ctx, bytes.NewReader(b.content(e))); err != nil {
			return done, err
		}
		done.Photos++
	}
	if done.Imported, err = s.Import(ctx, id, c.journal); err != nil {
		return done, err
	}
	if len(c.asides) > 0 {
		if _, err := s.Import(ctx, id, c.asides); err != nil {
			return done, err
		}
	}
	done.Job, err = s.Job(ctx, id)
	return done, err
}
