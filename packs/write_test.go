package packs_test

import (
	"encoding/json"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
	"buttonup/words"
)

// A pack that is written out whole, its template in it, reads back without a mistake and
// judges a job as it did before.
func TestWrittenPackJudgesAlike(t *testing.T) {
	for _, id := range []string{packs.Demo, "aldermoor-s575", "tm-9-2815-252-24"} {
		files, ok := packs.Find(id)
		if !ok {
			t.Fatalf("no pack %s", id)
		}
		before := loadAll(t, files)
		text := before.Write(pack.Heading{})
		after, mistakes := pack.Load([]pack.File{{Name: "written.pack", Text: text}}, nil)
		if len(mistakes) > 0 {
			t.Fatalf("%s: %v", id, mistakes[0])
		}
		if again := after.Write(pack.Heading{}); string(again) != string(text) {
			t.Errorf("%s is written differently the second time", id)
		}
		if id != packs.Demo {
			continue
		}
		for _, name := range []string{"clean-rebuild", "mid-inspection", "swapped-gasket", "crank-truing"} {
			journalText, ok := packs.Journal(id, name)
			if !ok {
				t.Fatalf("no journal %s", name)
			}
			if a, b := report(t, before, journalText), report(t, after, journalText); a != b {
				t.Errorf("%s, %s: the written pack judges otherwise", id, name)
			}
		}
	}
}

// report is all that is concluded, without the pack's own hash.
func report(t *testing.T, p *pack.Pack, text []byte) string {
	t.Helper()
	r := words.Make(assess.Assess(p, journal.Read(text).Fold(), assess.Options{}))
	r.Pack.SHA256 = ""
	out, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func loadAll(t *testing.T, list []packs.File) *pack.Pack {
	t.Helper()
	var files []pack.File
	for _, f := range list {
		files = append(files, pack.File{Name: f.Name, Text: f.Text})
	}
	p, mistakes := pack.Load(files, func(id string) ([]pack.File, bool) {
		found, ok := packs.Find(id)
		var out []pack.File
		for _, f := range found {
			out = append(out, pack.File{Name: f.Name, Text: f.Text})
		}
		return out, ok
	})
	if len(mistakes) > 0 {
		t.Fatal(mistakes[0])
	}
	return p
}
