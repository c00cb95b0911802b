package journal_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"buttonup/journal"
)

// sha is the SHA-256 of 32 zero bytes: any digest would do.
const sha = "66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925"

// fullBodies has every kind with every field filled, and the fields as they stand
// in a line after the kind.
var fullBodies = []struct {
	body   any
	fields string
}{
	{journal.Job{Title: "V1150 top end", Pack: "aldermoor-v1150", EngineNumber: "A-1042", Owner: "M. Pell", Assembled: true, AssembledGiven: true, Room: "19 ± 4 degC"},
		`"title":"V1150 top end","pack":"aldermoor-v1150","engine_number":"A-1042","owner":"M. Pell","assembled":true,"room":"19 ± 4 degC"`},
	{journal.Instrument{Name: "tw-1", Class: "torque wrench", Step: "0.5 N·m", Uncertainty: "4 %", Scale: "steel", Calibrated: "2026-01-12", Min: "10 N·m", Max: "60 N·m", Graduation: "0.5 N·m", Unit: "N·m"},
		`"name":"tw-1","class":"torque wrench","step":"0.5 N·m","uncertainty":"4 %","scale":"steel","calibrated":"2026-01-12","min":"10 N·m","max":"60 N·m","graduation":"0.5 N·m","unit":"N·m"`},
	{journal.Option{Option: "series", Choice: "C"}, `"option":"series","choice":"C"`},
	{journal.Extra{Text: "dimension \"ring_gap\" {\n\tlimit = \"<= 0.55 mm\"\n}", Why: "ring maker's sheet"},
		`"text":"dimension \"ring_gap\" {\n\tlimit = \"<= 0.55 mm\"\n}","why":"ring maker's sheet"`},
	{journal.Reading{Of: "bore", Place: "front", Cell: journal.Cell{Position: "10 mm", Axis: "thrust", N: 2}, Value: "92.004 mm", Instrument: "bg-1", Temperature: "20 degC", Phase: journal.AsFound, Note: "after cleaning"},
		`"of":"bore","place":"front","cell":{"position":"10 mm","axis":"thrust","n":2},"value":"92.004 mm","instrument":"bg-1","temperature":"20 degC","phase":"as-found","note":"after cleaning"`},
	{journal.Check{Of: "tappet_face", Place: "front inlet", Answer: "polished", Note: "one pit"},
		`"of":"tappet_face","place":"front inlet","answer":"polished","note":"one pit"`},
	{journal.Strike{Event: "a-17", Why: "wrong barrel"}, `"event":"a-17","why":"wrong barrel"`},
	{journal.Part{Part: "2101-S", Slot: "gasket", Place: "front", State: journal.Sent, Lot: "L 7", Sizes: map[string]string{"thickness": "0.30 mm", "bore": "93 mm"}, Price: "18.40", To: "the grinder", Due: "2026-03-09", Asked: "skim 0.1 mm", Count: 4},
		`"part":"2101-S","slot":"gasket","place":"front","state":"sent","lot":"L 7","sizes":{"bore":"93 mm","thickness":"0.30 mm"},"price":"18.40","to":"the grinder","due":"2026-03-09","asked":"skim 0.1 mm","count":4`},
	{journal.Operation{Operation: "fit_cam", Place: "front", State: journal.Undone, Note: "key sheared"},
		`"operation":"fit_cam","place":"front","state":"undone","note":"key sheared"`},
	{journal.Torque{Joint: "head_nuts", Place: "front", Point: 3, Stage: 2, Value: "25 N·m", Wrench: "tw-1"},
		`"joint":"head_nuts","place":"front","point":3,"stage":2,"value":"25 N·m","wrench":"tw-1"`},
	{journal.Torque{Joint: "head_nuts", Place: "front", All: true, Stage: 3, Value: "43 N·m", Wrench: "tw-1"},
		`"joint":"head_nuts","place":"front","point":"all","stage":3,"value":"43 N·m","wrench":"tw-1"`},
	{journal.Wait{Operation: "seal_cases", State: journal.Started}, `"operation":"seal_cases","state":"started"`},
	{journal.Deviation{Finding: "measure.too-close bore front", Why: "first oversize is on order"},
		`"finding":"measure.too-close bore front","why":"first oversize is on order"`},
	{journal.Approval{What: "rebore both", Amount: "240.00", Who: "M. Pell"}, `"what":"rebore both","amount":"240.00","who":"M. Pell"`},
	{journal.Note{Text: "smells of fuel"}, `"text":"smells of fuel"`},
	{journal.Photo{SHA256: sha, Of: "check.tappet_face front inlet"}, `"sha256":"` + sha + `","of":"check.tappet_face front inlet"`},
	{journal.Link{Address: "https://example.org/sheet", Of: "dimension.ring_gap"}, `"address":"https://example.org/sheet","of":"dimension.ring_gap"`},
	{journal.TimeWorked{Operation: "fit_cam", Minutes: 42.5}, `"operation":"fit_cam","minutes":42.5`},
	{journal.Cost{What: "grinding", Amount: "85.00"}, `"what":"grinding","amount":"85.00"`},
	{journal.Addition{Text: "re-torqued at 500 miles"}, `"text":"re-torqued at 500 miles"`},
	{journal.Seal{Events: 12, Head: sha, PackSum: sha, Key: "k", Signature: "s"}, `"count":12,"sha256":"` + sha + `","pack":"` + sha + `","key":"k","signature":"s"`},
	{journal.Estimate{What: "rebore both", Amount: "240.00"}, `"what":"rebore both","amount":"240.00"`},
	{journal.Mark{What: "camera on"}, `"what":"camera on"`},
	{journal.Published{What: "handout", Of: "operation.carrier_on", Place: "front", Code: "7C41-09AE", Figures: "torque: 9 N·m"}, `"what":"handout","of":"operation.carrier_on","place":"front","value":"7C41-09AE","text":"torque: 9 N·m"`},
}

// Every kind goes out in the order of the contract and comes back as it was.
func TestEveryKindInAndOut(t *testing.T) {
	at := time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)
	written := map[journal.Kind]bool{}
	for i, c := range fullBodies {
		e := journal.New("01J-7", at, "bench", c.body)
		e.Late = i%2 == 1
		written[e.Kind] = true
		line, err := e.Encode()
		if err != nil {
			t.Errorf("%T: %v", c.body, err)
			continue
		}
		want := `{"id":"01J-7","at":"2026-03-02T10:04:00Z","by":"bench","kind":"` + string(e.Kind) + `",`
		if e.Late {
			want += `"late":true,`
		}
		if want += c.fields + "}"; string(line) != want {
			t.Errorf("%T is written as\n%s\nwant\n%s", c.body, line, want)
		}
		j := journal.Read(append(line, '\n'))
		if len(j.Events) != 1 || len(j.Problems) != 0 {
			t.Errorf("%s: read as %d events, problems %v", line, len(j.Events), j.Problems)
			continue
		}
		e.Line, e.Bytes = 1, line
		if !reflect.DeepEqual(j.Events[0], e) {
			t.Errorf("%T comes back as\n%+v\nwant\n%+v", c.body, j.Events[0], e)
		}
		single, err := journal.Decode(line)
		e.Line = 0
		if err != nil || !reflect.DeepEqual(single, e) {
			t.Errorf("Decode gives %+v, %v, want %+v", single, err, e)
		}
	}
	for _, kind := range journal.Kinds() {
		if !written[kind] {
			t.Errorf("kind %s is not tested", kind)
		}
	}
	if len(journal.Kinds()) != 23 {
		t.Errorf("%d kinds, the contract has 23", len(journal.Kinds()))
	}
}

// A field filled at random in one body must not be lost or moved: every exported
// field of every body is set alone where the kind allows it.
func TestNoFieldIsForgotten(t *testing.T) {
	at := time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)
	for _, c := range fullBodies {
		whole := reflect.ValueOf(c.body)
		for i := range whole.NumField() {
			// Take one field away; what comes back must be the rest, or a refusal
			// that names the field.
			part := reflect.New(whole.Type()).Elem()
			part.Set(whole)
			part.Field(i).SetZero()
			if whole.Type().Field(i).Name == "AssembledGiven" {
				continue // says nothing without Assembled, which is true here
			}
			if whole.Type().Field(i).Name == "Assembled" {
				part.FieldByName("AssembledGiven").SetBool(true)
			}
			line, err := journal.New("x", at, "", part.Interface()).Encode()
			if err != nil {
				if !strings.Contains(err.Error(), ` has no "`) {
					t.Errorf("%T without %s: %v", c.body, whole.Type().Field(i).Name, err)
				}
				continue
			}
			e, err := journal.Decode(line)
			if err != nil || !reflect.DeepEqual(e.Body, part.Interface()) {
				t.Errorf("%T without %s comes back as %+v, %v", c.body, whole.Type().Field(i).Name, e.Body, err)
			}
		}
	}
}

func TestEncodeRefuses(t *testing.T) {
	at := time.Date(2026, 3, 2, 10, 4, 0, 0, time.UTC)
	note := journal.Note{Text: "x"}
	late := journal.New("a", at, "", note)
	late.Kind = journal.KindCost
	for _, c := range []struct {
		event journal.Event
		says  string
	}{
		{journal.New("", at, "", note), "the id is empty"},
		{journal.New(strings.Repeat("x", 65), at, "", note), "65 characters long; 64 is the most"},
		{journal.New("a\nb", at, "", note), "U+000A"},
		{journal.New("a", time.Time{}, "", note), "is not a time"},
		{journal.New("a", at.AddDate(9000, 0, 0), "", note), "is not a time"},
		{journal.New("a", at, "", journal.Note{}), `has no "text"`},
		{journal.New("a", at, "", journal.Note{Text: " \n"}), `has no "text"`},
		{journal.New("a", at, "\xff", note), "not UTF-8"},
		{journal.New("a", at, "", journal.Note{Text: strings.Repeat("x", journal.MaxLine)}), "is the most that is read"},
		{journal.New("a", at, "", &note), "type *journal.Note"},
		{journal.New("a", at, "", nil), "none of the event bodies"},
		{late, `its kind is "cost"`},
		{journal.New("a", at, "", journal.Torque{Joint: "j", Point: 1, All: true}), "both one point and all"},
		{journal.New("a", at, "", journal.Torque{Joint: "j", Point: -1}), "whole number from 1"},
		{journal.New("a", at, "", journal.Torque{Joint: "j", Stage: -1}), "whole number from 1"},
		{journal.New("a", at, "", journal.Reading{Of: "b", Value: "1", Cell: journal.Cell{N: -1}}), "whole number from 1"},
		{journal.New("a", at, "", journal.Part{State: journal.Kept}), `neither a "part" nor a "slot"`},
		{journal.New("a", at, "", journal.Part{Slot: "s", State: "lost"}), "kept, wanted, ordered, received, fitted, rejected, removed, sent or back"},
		{journal.New("a", at, "", journal.Part{Slot: "s", State: journal.Kept, Sizes: map[string]string{"t": ""}}), `the size "t" is empty`},
		{journal.New("a", at, "", journal.TimeWorked{Minutes: -1}), "minutes from 0"},
		{journal.New("a", at, "", journal.TimeWorked{Minutes: nan()}), "not a number"},
		{journal.New("a", at, "", journal.Photo{SHA256: sha[1:]}), "64 hexadecimal digits"},
		{journal.New("a", at, "", journal.Deviation{Finding: "f"}), `has no "why"`},
	} {
		line, err := c.event.Encode()
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: wrote %.80s, error %v; want an error with %q", c.event.Body, line, err, c.says)
		}
	}
}

func nan() float64 {
	zero := 0.0
	return zero / zero
}

// A negative zero of another program's arithmetic must not come out again.
func TestNoNegativeZero(t *testing.T) {
	e, err := journal.Decode([]byte(line("a", "time", `"minutes":-0.0`)))
	if err != nil {
		t.Fatal(err)
	}
	if text, err := e.Encode(); err != nil || !strings.HasSuffix(string(text), `"minutes":0}`) {
		t.Errorf("written as %s, %v", text, err)
	}
}

// Times of zones with odd offsets and of part seconds are the same instant after a
// round trip.
func TestTimesInAndOut(t *testing.T) {
	for _, zone := range []*time.Location{
		time.UTC, time.FixedZone("", 3600), time.FixedZone("x", -12600), time.FixedZone("lmt", 1172),
		time.FixedZone("far", 25*3600),
	} {
		for _, nanos := range []int{0, 5e8, 1, 999999999} {
			at := time.Date(2026, 3, 2, 23, 59, 59, nanos, zone)
			line, err := journal.New("a", at, "", journal.Note{Text: "x"}).Encode()
			if err != nil {
				t.Errorf("%v: %v", at, err)
				continue
			}
			e, err := journal.Decode(line)
			if err != nil || !e.At.Equal(at) {
				t.Errorf("%v comes back from %s as %v, %v", at, line, e.At, err)
			}
		}
	}
}

// An event spread over several lines would come back from a file as several broken
// ones.
func TestDecodeRefusesALineEndInside(t *testing.T) {
	_, err := journal.Decode([]byte("{\"id\":\"a\",\n\"at\":\"2026-03-02T10:04:00Z\",\"kind\":\"note\",\"text\":\"x\"}"))
	if p, ok := err.(journal.Problem); !ok || p.Code != journal.CodeBrokenLine {
		t.Errorf("Decode gave %v", err)
	}
}
