package joint

import (
	"testing"

	"buttonup/internal/check"
)

func grade(t testing.TB, text string) Grade {
	t.Helper()
	g, err := ParseGrade(text)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	return g
}

func TestStrengthAgainstPublishedTables(t *testing.T) {
	each(t, "strength-iso898", func(f *check.File, row check.Row) {
		s, err := grade(t, row.In["class"]).Strength(thread(t, row.In["thread"]))
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "tensile", float64(s.Tensile)/1e6)
		f.Compare(t, row, "yield", float64(s.Yield)/1e6)
		f.Compare(t, row, "proof", float64(s.Proof)/1e6)
	})
	each(t, "strength-sae", func(f *check.File, row check.Row) {
		s, err := grade(t, row.In["grade"]).Strength(thread(t, row.In["thread"]))
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "tensile", float64(s.Tensile/ksi))
		f.Compare(t, row, "yield", float64(s.Yield/ksi))
		f.Compare(t, row, "proof", float64(s.Proof/ksi))
	})
}

func TestProofLoadAgainstPublishedTables(t *testing.T) {
	for _, name := range []string{"proof-load", "proof-load-9.8"} {
		each(t, name, func(f *check.File, row check.Row) {
			for class := range row.Out {
				load, _, err := ProofLoad(thread(t, row.In["thread"]), grade(t, class))
				if err != nil {
					t.Fatal(err)
				}
				f.Compare(t, row, class, float64(load))
			}
		})
	}
	each(t, "proof-load-inch", func(f *check.File, row check.Row) {
		load, _, err := ProofLoad(thread(t, row.In["thread"]), grade(t, row.In["grade"]))
		if err != nil {
			t.Fatal(err)
		}
		f.Compare(t, row, "load", float64(load)/lbf)
	})
	each(t, "tensile-load", func(f *check.File, row check.Row) {
		th := thread(t, row.In["thread"])
		for class := range row.Out {
			s, err := grade(t, class).Strength(th)
			if err != nil {
				t.Fatal(err)
			}
			f.Compare(t, row, class, float64(s.Tensile)*float64(th.StressArea()))
		}
	})
}

func TestParseGrade(t *testing.T) {
	for text, want := range map[string]string{
		"8.8": "8.8", "class 10.9": "10.9", "property class 12.9": "12.9", " 4.6 ": "4.6",
		"SAE 8": "SAE 8", "sae8": "SAE 8", "grade 5": "SAE 5", "SAE J429 Grade 2": "SAE 2", "Gr. 8": "SAE 8", "gr 5": "SAE 5",
	} {
		if g := grade(t, text); g.String() != want {
			t.Errorf("%q read as %v, want %s", text, g, want)
		} else if again := grade(t, g.String()); again != g {
			t.Errorf("%v reads back as %v", g, again)
		}
	}
	for _, text := range []string{"", "8", "5", "A2-70", "SAE 8.8", "grade 9", "10", "12,9", "SAE", "class"} {
		if g, err := ParseGrade(text); err == nil || g != (Grade{}) {
			t.Errorf("%q read as %v, want a refusal", text, g)
		}
	}
}

func TestStrengthRefuses(t *testing.T) {
	for _, c := range []struct{ grade, thread string }{
		{"SAE 8", "M10"}, {"8.8", "3/8-16"}, {"9.8", "M18"}, {"8.8", "M42"}, {"8.8", "M1.4"}, {"SAE 5", "#10-32"}, {"SAE 5", "1-3/4-5"},
	} {
		if s, err := grade(t, c.grade).Strength(thread(t, c.thread)); err == nil || s != (Strength{}) {
			t.Errorf("%s on %s: %v, want a refusal", c.grade, c.thread, s)
		}
	}
	if _, err := (Grade{}).Strength(thread(t, "M10")); err == nil {
		t.Error("no grade has a strength")
	}
	if _, _, err := ProofLoad(Thread{}, grade(t, "8.8")); err == nil {
		t.Error("no thread has a proof load")
	}
}
