package book

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"buttonup/assess"
)

// The owner rings three years later: what he asks stands on the sheet after the cover,
// and on no other, for both ends. The questions are those of a call-back (common
// practice, no published source); the figures were read and fitted in the journal.
func TestTheAnswersMostAskedAreOneSheet(t *testing.T) {
	j := finished(t)
	j.State.Photos = nil
	for _, paper := range []Paper{A4, Letter} {
		j.Paper = paper
		name := asFile(t, printed(t, j))
		sheet := strings.Join(strings.Fields(outside(t, "pdftotext", "-layout", "-f", "2", "-l", "2", name, "-")), " ")
		if third := outside(t, "pdftotext", "-f", "3", "-l", "3", name, "-"); !strings.Contains(third, "What is closed") || strings.Contains(third, "most asked") {
			t.Errorf("on %s the answers go on to the next sheet", paper.Name)
		}
		for _, want := range []string{
			"The answers most asked", "Front Rear",
			"Piston to bore, cast 0.053 ±0.007 mm 0.053 ±0.007 mm", // what clearance
			"0.0021 ±0.0003 in",                                // in both units
			"Top ring end gap 0.37 ±0.01 mm 0.37 ±0.01 mm",     // what ring gap
			"1.340 ±0.020 mm 1.350 ±0.020 mm",                  // squish of each end
			"thickness 2.525 mm (0.0994 in) AV-1120-2525",      // which spacer
			"Piston with its pin, front, rear standard",        // which oversize
			"T05 Barrel and head nuts, front, rear 43 N·m (32", // what torque
			"oiled",                          // with what on the threads
			"Corve Lane Grinding",            // who bored it
			"Used again: Camshaft AV-2101-S", // was it re-used
			"92.031 ±0.005 mm",               // was it like that when it came in
		} {
			if !strings.Contains(sheet, want) {
				t.Errorf("on %s the sheet does not tell %q:\n%s", paper.Name, want, sheet)
			}
		}
	}
}

// With a pack of another make-up the sheet has other columns, and is one sheet all the
// same. The journal is that of a job under way, with few readings.
func TestTheAnswersOfAJobUnderWay(t *testing.T) {
	j := handful(t)
	name := asFile(t, printed(t, j))
	if third := outside(t, "pdftotext", "-f", "3", "-l", "3", name, "-"); strings.Contains(third, "The rest stands in the body") {
		t.Error("the answers are more than one sheet")
	}
}

// What is on the threads is told of the joint itself, never how far it is tightened.
func TestTheThreadsAreToldInTheAnswers(t *testing.T) {
	b := &builder{Job: finished(t)}
	b.d = &Document{Paper: A4}
	b.prepare()
	a := b.collectAnswers()
	known := map[string]bool{}
	for _, x := range b.Pack.Joints {
		known[orElse(x.State, "not stated")] = true
	}
	if len(a.torques) < 10 {
		t.Fatalf("%d joints", len(a.torques))
	}
	for _, x := range a.torques {
		if threads := x.row.Cells[2].Text; !known[threads] {
			t.Errorf("%s: on the threads %q", x.row.Cells[0].Text, threads)
		}
	}
}

// A kit that fills many slots gives each the sizes that belong there, and no others.
func TestAKitGivesEachSlotItsOwnSizes(t *testing.T) {
	b := &builder{Job: finished(t)}
	seen := 0
	for _, l := range b.lives() {
		if l.partID != "AV-9001-B" {
			continue
		}
		seen++
		got := fmt.Sprint(b.sizesOf(l))
		switch l.slot {
		case "head_gasket":
			if got != "[crushed hole]" {
				t.Errorf("the head gasket has %s", got)
			}
		case "circlip", "stem_seal":
			if got != "[]" {
				t.Errorf("%s has %s", l.slotTitle, got)
			}
		}
	}
	if seen < 20 {
		t.Fatalf("%d places of the gasket set", seen)
	}
}

// Questions are found in titles as packs write them, and what only leads to an answer is
// none.
func TestQuestion(t *testing.T) {
	for title, want := range map[string]int{"Piston to bore, cast": 0, "Top ring end gap": 1, "Squish": 2, "Squish, solder less deck and gasket": -1, "Crank end play, dry trial closing": -1, "Bore finish, Ra": -1} {
		if got := question(title); got != want {
			t.Errorf("%s: %d, want %d", title, got, want)
		}
	}
	// Each phrase is written in small letters, else it is never found.
	for _, phrases := range asked {
		for _, p := range phrases {
			if regexp.MustCompile(`[A-Z]`).MatchString(p) {
				t.Errorf("%q has a large letter", p)
			}
		}
	}
}

// Every name on the drawing of the cover keeps within the sheet, whatever a pack calls
// its spaces.
func TestTheCoverKeepsWithinTheSheet(t *testing.T) {
	b := &builder{Job: finished(t)}
	b.d = &Document{Paper: A4}
	b.prepare()
	spaces := append([]assess.Space(nil), b.Assessment.Spaces...)
	spaces[0].Title = "A space whose name is longer than any that somebody would write into a pack"
	b.Assessment.Spaces = spaces
	d, says := b.section()
	if !strings.Contains(says, "closed") {
		t.Errorf("the drawing says %q", says)
	}
	l := newLettering()
	words := 0
	for _, s := range d.shapes {
		if s.text == "" {
			continue
		}
		words++
		from, wide := s.x, l.width(s.text, s.size, s.bold)
		switch s.alignment {
		case alignRight:
			from -= wide
		case alignMiddle:
			from -= wide / 2
		}
		if from < 0 || from+wide > d.Width || s.y < 0 || s.y > d.Height {
			t.Errorf("%q stands from %.0f to %.0f, at %.0f, on a drawing of %.0f by %.0f", s.text, from, from+wide, s.y, d.Width, d.Height)
		}
	}
	if words < 2*len(spaces) {
		t.Errorf("%d words for %d spaces", words, len(spaces))
	}
}
