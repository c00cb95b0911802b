package pack

import "testing"

func TestChanges(t *testing.T) {
	load := func(text string) *Pack {
		p, mistakes := Load([]File{{Name: "x.pack", Text: []byte(text)}}, nil)
		if len(mistakes) > 0 {
			t.Fatal(mistakes[0].Says)
		}
		return p
	}
	head := "pack \"X\" {\n  title = \"X\"\n  revision = \"%\"\n}\n"
	old := load(head + `
dimension "bore" {
  new   = "92.000 .. 92.013 mm"
  limit = "<= 92.090 mm"
}
joint "nut" {
  thread = "M10"
  torque = "40 .. 45 N·m"
  step {
    to = "20 N·m"
  }
  step {
    to = "43 N·m"
  }
}
check "seen" {
  ask = "Seen?"
}
`)
	next := load(head + `
joint "nut" {
  thread = "M10"
  torque = "38 .. 42 N·m"
  step {
    to = "20 N·m"
  }
  step {
    to = "40 N·m"
  }
}
dimension "bore" {
  new  = "92.000 .. 92.013 mm"
  step = "0.001 mm"
}
dimension "deck" {
  new = "0.1 .. 0.3 mm"
}
`)
	if got := old.Changes(old); len(got) != 0 {
		t.Errorf("nothing changed, and %v", got)
	}
	want := []string{"joint.nut torque", "joint.nut step", "dimension.bore step", "dimension.bore limit", "dimension.deck ", "check.seen "}
	got := old.Changes(next)
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, c := range got {
		if c.Reference()+" "+c.Attribute != want[i] {
			t.Errorf("%d: %s %s, want %s", i, c.Reference(), c.Attribute, want[i])
		}
	}
	if c := got[0]; c.Was != `"40 .. 45 N·m"` || c.Now != `"38 .. 42 N·m"` || c.Nested {
		t.Errorf("%+v", c)
	}
	if c := got[1]; !c.Nested || c.Was == c.Now {
		t.Errorf("%+v", c)
	}
	if c := got[3]; c.Now != "" || got[4].Was != "" || got[5].Now != "" {
		t.Errorf("%+v", got[3:])
	}
}
