package packs_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"buttonup/pack"
	"buttonup/packs"
)

// engines are the packs of invented engines, each with the template it fills in.
var engines = map[string]string{
	"aldermoor-v1150": "vtwin-pushrod-hydraulic",
	"aldermoor-s575":  "single-pushrod-solid",
}

// files makes what the program carries ready for loading.
func files(list []packs.File) []pack.File {
	out := make([]pack.File, 0, len(list))
	for _, f := range list {
		out = append(out, pack.File{Name: f.Name, Text: f.Text})
	}
	return out
}

// loaded keeps what was read: a pack is not changed by anybody.
var loaded = map[string]*pack.Pack{}

// load reads a carried pack and fails on any mistake.
func load(t testing.TB, id string) *pack.Pack {
	t.Helper()
	if p := loaded[id]; p != nil {
		return p
	}
	list, ok := packs.Find(id)
	if !ok {
		t.Fatalf("%s is not carried", id)
	}
	p, mistakes := pack.Load(files(list), nil)
	for _, m := range mistakes {
		t.Errorf("%s: %s; %s", m.Span, m.Says, m.Do)
	}
	if len(mistakes) > 0 {
		t.FailNow()
	}
	loaded[id] = p
	return p
}

// Every pack that the program carries is free of mistakes. Templates leave figures to
// be filled in, and nothing else does.
func TestCarriedPacksAreFreeOfMistakes(t *testing.T) {
	ids := packs.IDs()
	if len(ids) < 28 {
		t.Errorf("only %d packs are carried", len(ids))
	}
	for _, id := range ids {
		t.Run(id, func(t *testing.T) {
			p := load(t, id)
			template := false
			for _, name := range engines {
				template = template || name == id
			}
			if blanks := len(p.ToBeFilledIn); template != (blanks > 0) {
				t.Errorf("%d figures are to be filled in: %q", blanks, first(p.ToBeFilledIn))
			}
		})
	}
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

// A pack is found by the name of its folder or file and by the ID that it declares,
// and the template that it extends comes with it.
func TestFind(t *testing.T) {
	for _, name := range []string{"tm-9-2815-252-24", "single-pushrod-solid", "vtwin-pushrod-hydraulic"} {
		if list, ok := packs.Find(name); !ok || len(list) != 1 {
			t.Errorf("%s: %d files, %v", name, len(list), ok)
		}
	}
	p := load(t, "tm-9-2815-252-24")
	byName, _ := packs.Find("tm-9-2815-252-24")
	if byID, ok := packs.Find(p.Name); !ok || byID[0].Name != byName[0].Name {
		t.Errorf("the pack that declares %q is not found by that", p.Name)
	}
	for id, template := range engines {
		list, ok := packs.Find(id)
		if !ok {
			t.Fatalf("%s is not carried", id)
		}
		own, _ := packs.Find(template)
		if last := list[len(list)-1]; last.Name != own[0].Name {
			t.Errorf("%s comes with %s last, and not with its template", id, last.Name)
		}
		if got := load(t, id).Extends; got != template {
			t.Errorf("%s extends %q", id, got)
		}
	}
	for _, nothing := range []string{"", "no-such-pack", "templates", "published", "aldermoor-v1150/00-pack", "../packs", "journals"} {
		if list, ok := packs.Find(nothing); ok {
			t.Errorf("%q finds %d files", nothing, len(list))
		}
	}
	if _, ok := packs.Journal("aldermoor-v1150", "mid-inspection"); !ok {
		t.Error("the journal of the demo is not carried")
	}
	if _, ok := packs.Journal("aldermoor-v1150", "no-such-journal"); ok {
		t.Error("a journal that is not there was found")
	}
}

// What is carried is what lies here: no file was forgotten.
func TestNothingIsForgotten(t *testing.T) {
	carried := map[string]bool{}
	for _, id := range packs.IDs() {
		list, _ := packs.Find(id)
		for _, f := range list {
			carried[f.Name] = true
		}
	}
	found, err := filepath.Glob("*/*.pack")
	if err != nil || len(found) < 40 {
		t.Fatalf("%d files, %v", len(found), err)
	}
	for _, name := range found {
		if name = filepath.ToSlash(name); !carried[name] && !strings.HasPrefix(name, "testdata/") {
			t.Errorf("%s is not carried", name)
		}
	}
	for id := range engines {
		found, _ := filepath.Glob(id + "/journals/*.jsonl")
		if len(found) == 0 {
			t.Errorf("%s has no journal", id)
		}
		for _, name := range found {
			text, ok := packs.Journal(id, strings.TrimSuffix(filepath.Base(name), ".jsonl"))
			if here, err := os.ReadFile(name); !ok || err != nil || !slices.Equal(text, here) {
				t.Errorf("%s is not carried as it lies here", name)
			}
		}
	}
}

// BenchmarkLoadDemo is what each command on the demo engine pays first.
func BenchmarkLoadDemo(b *testing.B) {
	list, _ := packs.Find(packs.Demo)
	all := files(list)
	for b.Loop() {
		if _, mistakes := pack.Load(all, nil); len(mistakes) > 0 {
			b.Fatal(mistakes)
		}
	}
}
