package journal_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// foldCases are small journals in a small notation. A comment names the danger;
// then one event a line, as ID KIND WORDS; then after "=" what stands in the end.
//
//	job KEY=VALUE…   inst NAME STEP   opt NAME CHOICE   read VALUE [PHASE]
//	op NAME STATE    note TEXT        strike ID [WHY]   later WORDS (an unknown kind)
//
// In what stands, "a<s" is a struck by s and "code@3" a problem of line 3.
const foldCases = `
# an empty journal is no job
=

# nothing is lost on the way
a note hello
b read 92.004
c op fit_cam done
= readings b; operations c:done; notes a

# a struck event must not count, and must stay readable
a note hello
s strike a wrong
= struck a<s(wrong)

# striking the strike restores
a note hello
s strike a
t strike s
= notes a; struck s<t

# and striking that strike strikes again
a note hello
s strike a
t strike s
u strike t
= struck a<s t<u

# two strikes on one event: taking one back is not enough
a note hello
s strike a first
t strike a second
u strike s
= struck a<t(second) s<u

# of two standing strikes the first is told
a note hello
s strike a first
t strike a second
= struck a<s(first)

# a strike cannot reach forward, or a phone that delivers late would strike the unseen
s strike a
a note hello
= notes a; problems strike-unknown@1

# nor strike itself
s strike s
= problems strike-unknown@1

# nor what is not there; the strike of such a strike is sound
s strike nobody
t strike s
= struck s<t; problems strike-unknown@1

# a phone sends twice: once counts, and silently
a note hello
a note hello
= notes a

# the same id for something else: the first counts, the second is told
a note hello
a note goodbye
= notes a; problems same-id-different-content@2

# a repeated strike strikes once, and its repeat cannot be the one that stands
a note hello
s strike a
s strike a
t strike s
= notes a; struck s<t

# a strike whose id was used before does not strike
a note hello
b note there
a strike b
= notes a b; problems same-id-different-content@3

# the second content of an id is not struck separately: the id means the first
a note hello
a note goodbye
s strike a
= struck a<s; problems same-id-different-content@2

# a reading struck before its repeat arrives stays struck
a read 92.004
s strike a
a read 92.004
= struck a<s

# an unknown kind takes its id, so it can be struck and not used again
a later hello
s strike a
a note hello
b note there
= notes b; problems unknown-kind@1 same-id-different-content@3

# the newest of a name counts, in the place of the first
i inst bg-1 0.01
j inst mic-1 0.01
k inst bg-1 0.001
= instruments bg-1=0.001 mic-1=0.01

# when the newest is struck, the one before it counts again
i inst bg-1 0.01
k inst bg-1 0.001
s strike k
= instruments bg-1=0.01; struck k<s

# when the first is struck, the name moves to where it now first stands
i inst bg-1 0.01
j inst mic-1 0.01
k inst bg-1 0.001
s strike i
= instruments mic-1=0.01 bg-1=0.001; struck i<s

# options: the newest choice
o opt series B
p opt series C
= options series=C

# a job event changes only what it says
a job title=T owner=O assembled=true
b job title=U
= job U/O/true

# assembled can be taken back by saying so, not by silence
a job title=T assembled=true
b job assembled=false
= job T//false

# a struck correction is forgotten
a job title=T owner=O
b job owner=P
s strike b
= job T/O/false; struck b<s

# with all job events struck there is no job
a job title=T
s strike a
= struck a<s

# order is the order of the file
c op fit_cam done
b op fit_cam undone
a op fit_cam done
= operations c:done b:undone a:done
`

func TestFoldCases(t *testing.T) {
	for _, block := range strings.Split(strings.TrimSpace(foldCases), "\n\n") {
		var name, want string
		var text strings.Builder
		for _, line := range strings.Split(block, "\n") {
			switch {
			case strings.HasPrefix(line, "# "):
				name += line[2:]
			case strings.HasPrefix(line, "="):
				want = strings.TrimSpace(line[1:])
			default:
				text.WriteString(foldLine(t, line) + "\n")
			}
		}
		t.Run(name, func(t *testing.T) {
			if got := standing(journal.Read([]byte(text.String())).Fold()); got != want {
				t.Errorf("journal\n%s\ngives %q\nwant  %q", text.String(), got, want)
			}
		})
	}
}

// foldLine writes one line of the notation as JSON, by hand: Encode is not what is
// tested here.
func foldLine(t *testing.T, line string) string {
	t.Helper()
	w := strings.Fields(line)
	if len(w) < 3 {
		t.Fatalf("line %q has fewer than three words", line)
	}
	word := func(i int) string {
		if i < len(w) {
			return w[i]
		}
		return ""
	}
	out := fmt.Sprintf(`{"id":%q,"at":"2026-03-02T10:04:00Z","by":"bench"`, w[0])
	switch w[1] {
	case "job":
		out += `,"kind":"job"`
		for _, pair := range w[2:] {
			key, value, _ := strings.Cut(pair, "=")
			if key == "assembled" {
				out += fmt.Sprintf(`,"assembled":%s`, value)
			} else {
				out += fmt.Sprintf(`,%q:%q`, key, value)
			}
		}
	case "inst":
		out += fmt.Sprintf(`,"kind":"instrument","name":%q,"step":%q`, w[2], word(3))
	case "opt":
		out += fmt.Sprintf(`,"kind":"option","option":%q,"choice":%q`, w[2], word(3))
	case "read":
		out += fmt.Sprintf(`,"kind":"reading","of":"bore","value":%q`, w[2])
		if word(3) != "" {
			out += fmt.Sprintf(`,"phase":%q`, word(3))
		}
	case "op":
		out += fmt.Sprintf(`,"kind":"operation","operation":%q,"state":%q`, w[2], word(3))
	case "note":
		out += fmt.Sprintf(`,"kind":"note","text":%q`, w[2])
	case "strike":
		out += fmt.Sprintf(`,"kind":"strike","event":%q,"why":%q`, w[2], word(3))
	case "later":
		out += fmt.Sprintf(`,"kind":"from-the-future","text":%q`, w[2])
	default:
		t.Fatalf("line %q: unknown kind", line)
	}
	return out + "}"
}

// standing writes what stands in a state.
func standing(s *journal.State) string {
	var parts []string
	section := func(name string, items []string) {
		if len(items) > 0 {
			parts = append(parts, name+" "+strings.Join(items, " "))
		}
	}
	if s.Job != nil {
		section("job", []string{fmt.Sprintf("%s/%s/%v", s.Job.Title, s.Job.Owner, s.Job.Assembled)})
	}
	var items []string
	for _, name := range s.InstrumentOrder {
		items = append(items, name+"="+s.Instruments[name].Step)
	}
	section("instruments", items)
	items = nil
	for name, o := range s.Options {
		items = append(items, name+"="+o.Choice)
	}
	section("options", items)
	items = nil
	for _, r := range s.Readings {
		items = append(items, r.Event)
	}
	section("readings", items)
	items = nil
	for _, o := range s.Operations {
		items = append(items, o.Event+":"+o.State)
	}
	section("operations", items)
	items = nil
	for _, n := range s.Notes {
		items = append(items, n.Event)
	}
	section("notes", items)
	items = nil
	for _, x := range s.Struck {
		item := x.Event + "<" + x.Strike.Event
		if x.Why != "" {
			item += "(" + x.Why + ")"
		}
		items = append(items, item)
	}
	section("struck", items)
	items = nil
	for _, p := range s.Problems {
		items = append(items, fmt.Sprintf("%s@%d", strings.TrimPrefix(p.Code, "journal."), p.Line))
	}
	section("problems", items)
	return strings.Join(parts, "; ")
}

// Seq must order what the assessment compares, At and Late must come through, and
// neither a repeat nor a line set aside may leave a gap in Seq.
func TestStamps(t *testing.T) {
	text := `{"id":"a","at":"2026-03-02T10:00:00Z","by":"bench","kind":"operation","operation":"fit_cam","state":"done"}
{"id":"b","at":"2026-03-01T09:00:00+01:00","by":"phone","kind":"check","late":true,"of":"seal","answer":"free"}
{"id":"a","at":"2026-03-02T10:00:00Z","by":"bench","kind":"operation","operation":"fit_cam","state":"done"}
not an event

{"id":"c","at":"2026-03-02T09:59:59Z","by":"","kind":"wait","operation":"fit_cam","state":"ended"}
`
	s := journal.Read([]byte(text)).Fold()
	at := func(text string) time.Time {
		x, err := time.Parse(time.RFC3339, text)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for _, c := range []struct {
		got, want journal.Stamp
	}{
		{s.Operations[0].Stamp, journal.Stamp{Seq: 0, At: at("2026-03-02T10:00:00Z"), By: "bench", Event: "a", Line: 1}},
		{s.Checks[0].Stamp, journal.Stamp{Seq: 1, At: at("2026-03-01T08:00:00Z"), By: "phone", Late: true, Event: "b", Line: 2}},
		{s.Waits[0].Stamp, journal.Stamp{Seq: 2, At: at("2026-03-02T09:59:59Z"), Event: "c", Line: 6}},
	} {
		if !c.got.At.Equal(c.want.At) {
			t.Errorf("event %s is at %v, want %v", c.want.Event, c.got.At, c.want.At)
		}
		c.got.At, c.want.At = time.Time{}, time.Time{}
		if c.got != c.want {
			t.Errorf("stamp %+v, want %+v", c.got, c.want)
		}
	}
	if s.Events != 3 {
		t.Errorf("%d events, want 3", s.Events)
	}
	if want := at("2026-03-02T10:00:00Z"); !s.Last.Equal(want) {
		t.Errorf("last at %v, want %v: the latest time, wherever it stands", s.Last, want)
	}
	if _, offset := s.Checks[0].At.Zone(); offset != 3600 {
		t.Errorf("event b keeps an offset of %d s, want the 3600 s it was written in", offset)
	}
}

// phaseCases: readings as ID or ID:PHASE in the order of the file, then the current
// set and, after each bar, an older one.
const phaseCases = `
-> 
1 2 -> 1 2
1:f 2 3:f -> 1 2 3
1:f 2:m 3 -> 2 3 | 1
1 2:f 3 -> 2 3 | 1
1:f 2:m 3:f -> 2 | 1 3
1:f 2:m 3:f 4 -> 2 4 | 1 3
1:f 2:m 3:b 4:m 5 -> 3 5 | 1 | 2 4
1 2:f 3:m 4 -> 3 4 | 1 | 2
`

func TestCurrentPhase(t *testing.T) {
	names := map[string]string{"": "", "f": journal.AsFound, "m": journal.AsMachined, "b": journal.AsBuilt}
	for _, line := range strings.Split(strings.Trim(phaseCases, "\n"), "\n") {
		in, want, _ := strings.Cut(line, "->")
		var readings []journal.ReadingRecord
		for _, word := range strings.Fields(in) {
			id, phase, _ := strings.Cut(word, ":")
			readings = append(readings, journal.ReadingRecord{
				Stamp: journal.Stamp{Event: id}, Reading: journal.Reading{Phase: names[phase]},
			})
		}
		current, history := journal.CurrentPhase(readings)
		got := ids(current)
		for _, set := range history {
			got += " | " + ids(set)
		}
		if want = strings.TrimSpace(want); got != want {
			t.Errorf("%s: got %q", line, got)
		}
	}
}

func ids(readings []journal.ReadingRecord) string {
	var out []string
	for _, r := range readings {
		out = append(out, r.Event)
	}
	return strings.Join(out, " ")
}
