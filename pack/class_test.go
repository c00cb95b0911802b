package pack

import (
	"strings"
	"testing"
)

// Danger: a misspelt class of instrument leaves readings without a ±, and nobody says so.
func TestRemarkOnAMisspeltClass(t *testing.T) {
	load := func(class string) Mistakes {
		text := head + "instrument \"bore gauge\" {\n  uncertainty = \"0.003 mm\"\n}\ndimension \"bore\" {\n  with = \"" + class + "\"\n  step = \"0.001 mm\"\n}\n"
		p, mistakes := Load([]File{{Name: "p.pack", Text: []byte(text)}}, nil)
		if len(mistakes) > 0 {
			t.Fatal(mistakes)
		}
		return p.Remarks
	}
	remarks := load("bore guage")
	if len(remarks) != 1 || remarks[0].Code != "pack.class-undeclared" || !strings.Contains(remarks[0].Do, "perhaps bore gauge is meant") || remarks[0].Span.Line != 8 {
		t.Errorf("%+v", remarks)
	}
	for _, fine := range []string{"bore gauge", "depth micrometer"} {
		if remarks := load(fine); len(remarks) > 0 {
			t.Errorf("%s: %+v", fine, remarks)
		}
	}
}

// A template may leave a condition, a note or a caution to be filled in, as any figure.
func TestBlankCondition(t *testing.T) {
	text := head + "dimension \"bore\" {\n  step  = \"0.001 mm\"\n  blank = [\"when\", \"limit\", \"caution\"]\n}\n"
	p, mistakes := Load([]File{{Name: "p.pack", Text: []byte(text)}}, nil)
	if len(mistakes) > 0 || strings.Join(p.ToBeFilledIn, ", ") != "dimension.bore when, dimension.bore limit, dimension.bore caution" {
		t.Errorf("%v %v", mistakes, p.ToBeFilledIn)
	}
}
