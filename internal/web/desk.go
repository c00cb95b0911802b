package web

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
)

// fresh is how long an assessment stands without a new event: waits run on.
const freshFor = 20 * time.Second

// sheet is a job as it stands after one event. It is not changed once it is made.
type sheet struct {
	Job   store.Job
	Seq   int64
	State *journal.State
	A     *assess.Assessment

	pack  *prepared
	ids   map[string]int // place of each event id in events
	event []journal.Event
	made  time.Time
}

// prepared is a pack with a job's own text, made ready.
type prepared struct {
	*pack.Pack
	model    *assess.Model
	findings []assess.Finding // of the job's own text

	mu     sync.Mutex
	usedIn map[string][]string
}

// UsedIn lists what is computed from a dimension at a place.
func (p *prepared) UsedIn(of, place string) []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	key := of + " " + place
	list, ok := p.usedIn[key]
	if !ok {
		list = p.model.UsedIn(of, place)
		if p.usedIn == nil {
			p.usedIn = map[string][]string{}
		}
		p.usedIn[key] = list
	}
	return list
}

// desk holds what is known of one job, so that a change costs one assessment and not
// a reading of everything.
type desk struct {
	mu     sync.Mutex
	base   *pack.Pack
	extras string // ids of the pieces of pack text that pack was made with
	pack   *prepared
	text   []byte
	seq    int64
	last   *sheet
}

// desks are the jobs that somebody looked at.
type desks struct {
	record Record
	now    func() time.Time

	mu    sync.Mutex
	jobs  map[string]*desk
	packs map[string]*pack.Pack // by the hashes of their files
}

// errPack says that the pack of a job cannot be used.
type errPack struct{ mistakes pack.Mistakes }

func (e *errPack) Error() string {
	return fmt.Sprintf("the pack of this job has mistakes: %s: %s", e.mistakes[0].Span, e.mistakes[0].Says)
}

// sheet returns the job as it stands now.
func (d *desks) sheet(ctx context.Context, id string) (*sheet, error) { return d.at(ctx, id, false) }

// quick returns the job as it stands now without sampling any number: for the answer to
// a press that shows none, while the page fetches the whole of it afterwards.
func (d *desks) quick(ctx context.Context, id string) (*sheet, error) { return d.at(ctx, id, true) }

func (d *desks) at(ctx context.Context, id string, quick bool) (*sheet, error) {
	job, err := d.record.Job(ctx, id)
	if err != nil {
		return nil, err
	}
	d.mu.Lock()
	t := d.jobs[id]
	if t == nil {
		t = &desk{}
		if d.jobs == nil {
			d.jobs = map[string]*desk{}
		}
		d.jobs[id] = t
	}
	d.mu.Unlock()
	t.mu.Lock()
	defer t.mu.Unlock()
	return d.bring(ctx, t, job, quick)
}

// bring reads what is new of a job and assesses it where that says something new.
func (d *desks) bring(ctx context.Context, t *desk, job store.Job, quick bool) (*sheet, error) {
	now := d.now()
	if t.last != nil && t.last.Seq >= job.Events && now.Sub(t.last.made) < freshFor {
		return t.last, nil
	}
	if t.base == nil {
		base, err := d.load(ctx, job)
		if err != nil {
			return nil, err
		}
		t.base = base
	}
	if t.seq < job.Events {
		events, err := d.record.Read(ctx, job.ID, t.seq+1)
		if err != nil {
			return nil, err
		}
		for _, e := range events {
			// The text is only ever added to: sheets made before share what stands.
			t.text = append(append(t.text, e.Bytes...), '\n')
			t.seq = e.Seq
		}
	}
	read := journal.Read(slices.Clone(t.text))
	state := read.Fold()
	t.prepare(state)
	a := t.pack.model.Assess(state, assess.Options{Now: now, FirstOrder: quick})
	a.Findings = append(slices.Clone(t.pack.findings), a.Findings...)
	s := &sheet{Job: job, Seq: t.seq, State: state, A: a, pack: t.pack, event: read.Events, ids: make(map[string]int, len(read.Events)), made: now}
	for i, e := range read.Events {
		if _, there := s.ids[e.ID]; !there {
			s.ids[e.ID] = i
		}
	}
	if !quick {
		t.last = s
	}
	return s, nil
}

// prepare merges the job's own pieces of pack text, when there are new ones.
func (t *desk) prepare(state *journal.State) {
	var ids []string
	for _, x := range state.Extras {
		ids = append(ids, x.Event)
	}
	key := strings.Join(ids, "\n")
	if t.pack != nil && key == t.extras {
		return
	}
	p, findings := assess.WithExtras(t.base, state)
	t.pack, t.extras = &prepared{Pack: p, model: assess.Prepare(p), findings: findings}, key
}

// load reads the pack that a job was started on; jobs on the same text share it.
func (d *desks) load(ctx context.Context, job store.Job) (*pack.Pack, error) {
	var key strings.Builder
	for _, f := range job.Files {
		key.WriteString(f.Template + "\x00" + f.Name + "\x00" + f.SHA256 + "\n")
	}
	d.mu.Lock()
	p := d.packs[key.String()]
	d.mu.Unlock()
	if p != nil {
		return p, nil
	}
	texts, err := d.record.Texts(ctx, job.ID)
	if err != nil {
		return nil, err
	}
	p, mistakes := LoadPinned(texts)
	if len(mistakes) > 0 {
		return nil, &errPack{mistakes}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.packs == nil {
		d.packs = map[string]*pack.Pack{}
	}
	d.packs[key.String()] = p
	return p, nil
}

// LoadPinned reads the pack that a job was started on, from the texts that the job
// keeps.
func LoadPinned(texts store.Texts) (*pack.Pack, pack.Mistakes) {
	return pack.Load(packFiles(texts.Pack), func(id string) ([]pack.File, bool) {
		for _, t := range texts.Templates {
			if t.ID == id {
				return packFiles(t.Files), true
			}
		}
		return nil, false
	})
}

func packFiles(files []store.NamedText) []pack.File {
	list := make([]pack.File, len(files))
	for i, f := range files {
		list[i] = pack.File{Name: f.Name, Text: f.Text}
	}
	return list
}

// isNotFound reports whether an error says that there is no such job.
func isNotFound(err error) bool { return errors.Is(err, store.ErrNotFound) }
