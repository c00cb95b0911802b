package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

func sameTexts(t *testing.T, got, want Texts) {
	t.Helper()
	if len(got.Pack) != len(want.Pack) || len(got.Templates) != len(want.Templates) {
		t.Fatalf("%d pack files and %d templates, want %d and %d", len(got.Pack), len(got.Templates), len(want.Pack), len(want.Templates))
	}
	same := func(got, want []NamedText) bool {
		return slices.EqualFunc(got, want, func(a, b NamedText) bool { return a.Name == b.Name && bytes.Equal(a.Text, b.Text) })
	}
	if !same(got.Pack, want.Pack) {
		t.Errorf("the pack is %q, want %q", got.Pack, want.Pack)
	}
	for i := range want.Templates {
		if got.Templates[i].ID != want.Templates[i].ID || !same(got.Templates[i].Files, want.Templates[i].Files) {
			t.Errorf("template %d is %q, want %q", i, got.Templates[i], want.Templates[i])
		}
	}
}

func TestJobPinsItsTexts(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	texts := demoTexts()
	texts.Pack = append(texts.Pack, NamedText{Name: "notes/empty.pack"})
	texts.Templates = append(texts.Templates, Template{ID: "magneto", Files: []NamedText{
		{Name: "numbers.pack", Text: texts.Pack[1].Text}, {Name: "µ.pack", Text: []byte{0, 1, 0xff}}}})
	job, err := s.CreateJob(ctx, NewJob{ID: "j-1", Title: "V1150", Texts: texts, At: epoch.Add(123456 * time.Microsecond)})
	if err != nil {
		t.Fatal(err)
	}
	// What the caller does with its bytes afterwards is nothing to the record.
	copy(texts.Pack[0].Text, "xxxx")
	texts.Pack[0].Text = bytes.Replace(texts.Pack[0].Text, []byte("xxxx"), []byte("pack"), 1)
	if !job.Created.Equal(epoch.Add(123 * time.Millisecond)) {
		t.Errorf("created %v", job.Created)
	}
	if len(job.Files) != 6 || job.Files[5].Template != "magneto" || job.Files[5].Name != "µ.pack" || job.Files[2].Size != 0 {
		t.Errorf("the files are %+v", job.Files)
	}
	sum := sha256.Sum256(texts.Pack[1].Text)
	if job.Files[1].SHA256 != hex.EncodeToString(sum[:]) || job.Files[4].SHA256 != job.Files[1].SHA256 {
		t.Errorf("the files are %+v", job.Files)
	}
	mustClose(t, s)
	s = mustOpen(t, dir)
	got, err := s.Texts(ctx, "j-1")
	if err != nil {
		t.Fatal(err)
	}
	sameTexts(t, got, texts)
	// The same text is kept once, however many jobs are started on it.
	mustJob(t, s, "j-2")
	mustJob(t, s, "j-3")
	if r := mustBeSound(t, s); r.Texts != 5 || r.Jobs != 3 {
		t.Errorf("%d texts for %d jobs, want 5 for 3", r.Texts, r.Jobs)
	}
}

func TestCreateJobAgain(t *testing.T) {
	s := mustOpen(t, folder(t))
	first := mustJob(t, s, "j-1")
	mustAppend(t, s, "j-1", killLine(0))
	again, err := s.CreateJob(ctx, NewJob{ID: "j-1", Title: first.Title, Texts: demoTexts(), At: epoch.Add(time.Hour)})
	if err != nil || !again.Created.Equal(first.Created) || again.Events != 1 {
		t.Errorf("the same job again: %+v, %v", again, err)
	}
	_, err = s.CreateJob(ctx, NewJob{ID: "j-1", Title: "another", Texts: demoTexts()})
	mustRefuse(t, err, ErrExists, `start job j-1: there is a job of that id already, "V1150, clean rebuild"; choose another id`)
	other := demoTexts()
	other.Pack[0].Text = []byte("pack {}\n")
	_, err = s.CreateJob(ctx, NewJob{ID: "j-1", Title: first.Title, Texts: other})
	mustRefuse(t, err, ErrExists, "start job j-1: there is a job of that id already, started on another pack text; choose another id")
	if got, err := s.Texts(ctx, "j-1"); err != nil {
		t.Error(err)
	} else {
		sameTexts(t, got, demoTexts())
	}
}

func TestCreateJobRefuses(t *testing.T) {
	s := mustOpen(t, folder(t))
	pack := func(files ...NamedText) Texts { return Texts{Pack: files} }
	one := NamedText{Name: "a.pack", Text: []byte("x")}
	for name, c := range map[string]struct {
		job  NewJob
		kind error
		says string
	}{
		"id":               {NewJob{ID: "../../etc", Title: "x", Texts: pack(one)}, ErrArgument, `the id "../../etc" cannot be used`},
		"id starts":        {NewJob{ID: "-j", Title: "x", Texts: pack(one)}, ErrArgument, `the id "-j" cannot be used`},
		"long id":          {NewJob{ID: strings.Repeat("j", 65), Title: "x", Texts: pack(one)}, ErrArgument, "cannot be used"},
		"no title":         {NewJob{ID: "j", Texts: pack(one)}, ErrArgument, `the title "" cannot be used`},
		"title":            {NewJob{ID: "j", Title: "a\nb", Texts: pack(one)}, ErrArgument, `the title "a\nb" cannot be used`},
		"no pack":          {NewJob{ID: "j", Title: "x"}, ErrArgument, "the job has no pack"},
		"name up":          {NewJob{ID: "j", Title: "x", Texts: pack(NamedText{Name: "../a.pack"})}, ErrArgument, `the file name "../a.pack" cannot be used`},
		"name drive":       {NewJob{ID: "j", Title: "x", Texts: pack(NamedText{Name: `c:\a.pack`})}, ErrArgument, "cannot be used"},
		"no name":          {NewJob{ID: "j", Title: "x", Texts: pack(NamedText{})}, ErrArgument, `the file name "" cannot be used`},
		"twice":            {NewJob{ID: "j", Title: "x", Texts: pack(one, one)}, ErrArgument, `the file name "a.pack" stands twice`},
		"large":            {NewJob{ID: "j", Title: "x", Texts: pack(NamedText{"a.pack", make([]byte, MaxText+1)})}, ErrTooLarge, "the file a.pack has 4194305 bytes; 4194304 is the most"},
		"template no file": {NewJob{ID: "j", Title: "x", Texts: Texts{Pack: []NamedText{one}, Templates: []Template{{ID: "t"}}}}, ErrArgument, "the template t has no file"},
		"template no id":   {NewJob{ID: "j", Title: "x", Texts: Texts{Pack: []NamedText{one}, Templates: []Template{{Files: []NamedText{one}}}}}, ErrArgument, `the template id "" cannot be used`},
		"template twice": {NewJob{ID: "j", Title: "x", Texts: Texts{Pack: []NamedText{one}, Templates: []Template{
			{ID: "t", Files: []NamedText{one}}, {ID: "t", Files: []NamedText{one}}}}}, ErrArgument, "the template t stands twice"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := s.CreateJob(ctx, c.job)
			mustRefuse(t, err, c.kind, "start job ", c.says)
		})
	}
	var many []NamedText
	for i := range MaxFiles + 1 {
		many = append(many, NamedText{Name: fmt.Sprint(i), Text: []byte{1}})
	}
	_, err := s.CreateJob(ctx, NewJob{ID: "j", Title: "x", Texts: pack(many...)})
	mustRefuse(t, err, ErrTooLarge, "the pack and its templates have more than 200 files")
	if jobs, err := s.Jobs(ctx); err != nil || len(jobs) != 0 {
		t.Errorf("jobs that were refused are there: %v, %v", jobs, err)
	}
}

func TestJobsInOrder(t *testing.T) {
	s := mustOpen(t, folder(t))
	if jobs, err := s.Jobs(ctx); err != nil || len(jobs) != 0 {
		t.Errorf("a new folder has the jobs %v, %v", jobs, err)
	}
	for i, id := range []string{"c", "a", "b", "Z"} {
		if _, err := s.CreateJob(ctx, NewJob{ID: id, Title: id, Texts: demoTexts(), At: epoch.Add(time.Duration(i/2) * time.Hour)}); err != nil {
			t.Fatal(err)
		}
	}
	mustAppend(t, s, "b", killLine(0), killLine(1))
	jobs, err := s.Jobs(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, j := range jobs {
		ids = append(ids, fmt.Sprintf("%s/%d/%d", j.ID, j.Events, len(j.Files)))
	}
	if want := []string{"a/0/3", "c/0/3", "Z/0/3", "b/2/3"}; !slices.Equal(ids, want) {
		t.Errorf("the jobs are %v, want %v", ids, want)
	}
	for _, j := range jobs {
		if one, err := s.Job(ctx, j.ID); err != nil || !reflect.DeepEqual(one, j) {
			t.Errorf("alone, a job is %+v, %v; in the list it is %+v", one, err, j)
		}
	}
}

func TestNewIDsSort(t *testing.T) {
	now := epoch
	i := identity{now: func() time.Time { return now }, random: bytes.NewReader(bytes.Repeat([]byte{0xff, 0x00, 0x5a}, 10000))}
	first := i.next()
	// Worked out elsewhere: 1772445840000 ms, then ff 00 5a over and over, in digits of 32.
	if first != "01KJQ02CM0ZW05NZR0BBZG0PQZ" {
		t.Errorf("the first id is %s", first)
	}
	before := first
	for k := range 300 {
		switch {
		case k%7 == 0:
			now = now.Add(time.Millisecond)
		case k%50 == 3:
			now = now.Add(-time.Hour) // somebody sets the clock
		}
		id := i.next()
		if len(id) != 26 || id <= before {
			t.Fatalf("id %s follows %s", id, before)
		}
		before = id
	}
	// The same clock and the same random numbers give the same ids.
	again := identity{now: func() time.Time { return epoch }, random: bytes.NewReader(bytes.Repeat([]byte{0xff, 0x00, 0x5a}, 100))}
	if id := again.next(); id != first {
		t.Errorf("the first id is %s one time and %s another", first, id)
	}
	// The last id of a millisecond carries into the next one.
	full := identity{now: func() time.Time { return epoch }, random: bytes.NewReader(bytes.Repeat([]byte{0xff}, 100))}
	if a, b := full.next(), full.next(); a >= b {
		t.Errorf("id %s follows %s", b, a)
	}
}

func TestNewIDsFromManySidesAtOnce(t *testing.T) {
	s := mustOpen(t, folder(t))
	var mu sync.Mutex
	seen := map[string]bool{}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 200 {
				id := s.NewID()
				mu.Lock()
				if seen[id] || !soundJobID(id) {
					t.Errorf("id %s came twice or cannot name a job", id)
				}
				seen[id] = true
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	if job, err := s.CreateJob(ctx, NewJob{Title: "V1150", Texts: demoTexts()}); err != nil || len(job.ID) != 26 {
		t.Errorf("a job without an id gets %q, %v", job.ID, err)
	}
}
