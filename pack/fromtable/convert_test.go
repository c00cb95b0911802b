package fromtable

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"testing"
)

// limitsTable writes a limits table of invented rows; each row is given as
// "column=cell; column=cell". Invented figures prove nothing about engines: these
// tests hold the program to its own rules.
func limitsTable(rows ...string) []byte {
	return invented("manual,table,component,characteristic,position,new_min,new_max,wear_limit_kind,wear_limit,unit,desired_clearance_min,desired_clearance_max,max_allowable_clearance,note,confidence,doubt,repair,feature,twin_unit,new_min_twin,new_max_twin",
		"manual=M 1; table=Table 1; component=PART; unit=in; confidence=aligned; feature=bore", rows)
}

// torqueTable does the same for joints.
func torqueTable(rows ...string) []byte {
	return invented("manual,table,fastener,thread,torque_min,torque_max,unit,stages,lubricant_note,note,grade,torque_min_twin,torque_max_twin,twin_unit,confidence,repair",
		"manual=M 1; table=Table 1; fastener=stud; thread=M10 x 1.25; unit=N.m; confidence=aligned", rows)
}

func invented(head, usual string, rows []string) []byte {
	columns := strings.Split(head, ",")
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Write(columns)
	for _, row := range rows {
		cells := map[string]string{}
		for _, pair := range append(strings.Split(usual, "; "), strings.Split(row, "; ")...) {
			column, cell, _ := strings.Cut(pair, "=")
			cells[column] = cell
		}
		var line []string
		for _, column := range columns {
			line = append(line, cells[column])
		}
		w.Write(line)
	}
	w.Flush()
	return b.Bytes()
}

// rowCase is one invented row and what must become of it.
type rowCase struct {
	danger, row string
	outcome     Outcome
	has, hasNot string // of the block; parts separated by |
}

// hold converts the row of a case and returns its block.
func (c rowCase) hold(t *testing.T, table func(...string) []byte) (text, block string) {
	t.Helper()
	made, rows, err := Convert("made.csv", table(c.row), Options{})
	if err != nil {
		t.Fatalf("%s: %v", c.danger, err)
	}
	_, block, _ = strings.Cut(string(made), "\n\n")
	if len(rows) != 1 || rows[0].Outcome != c.outcome || rows[0].Line != 2 {
		t.Errorf("%s: %+v, %s wanted", c.danger, rows, c.outcome)
	}
	for _, part := range nonEmpty(strings.Split(c.has, "|")...) {
		if !strings.Contains(block, part) {
			t.Errorf("%s: %q is not in\n%s", c.danger, part, block)
		}
	}
	for _, part := range nonEmpty(strings.Split(c.hasNot, "|")...) {
		if strings.Contains(block, part) {
			t.Errorf("%s: %q is in\n%s", c.danger, part, block)
		}
	}
	return string(made), block
}

func TestConvertRows(t *testing.T) {
	cases := []rowCase{
		{"the plain case", "characteristic=bore; new_min=2.0000; new_max=2.0010; wear_limit_kind=max; wear_limit=2.005", Taken,
			`new     = "2.0000 .. 2.0010 in"|limit   = "<= 2.005 in"|step    = "0.0001 in"|limit = "M 1, Table 1"`, "note"},
		{"a figure without its zero", "characteristic=bore; new_min=.028; new_max=.0285", Taken, `"0.028 .. 0.0285 in"`, "limit"},
		{"wear of a bore goes on the large end", "characteristic=bore; new_min=2.000; new_max=2.001; wear_limit_kind=wear; wear_limit=.0050", Taken, `limit   = "<= 2.0060 in"`, ""},
		{"wear of a shaft comes off the small end", "characteristic=pin; feature=shaft; new_min=2.000; new_max=2.001; wear_limit_kind=wear; wear_limit=0.003", Taken, `limit   = ">= 1.997 in"`, ""},
		{"a groove widens", "characteristic=groove width; feature=width; new_min=0.100; new_max=0.101; wear_limit_kind=wear; wear_limit=0.005", Taken, `"<= 0.106 in"`, ""},
		{"a piston ring narrows", "component=PISTON RINGS; characteristic=width; feature=width; new_min=0.100; new_max=0.101; wear_limit_kind=wear; wear_limit=0.005", Taken, `">= 0.095 in"`, ""},
		{"another width may do either", "characteristic=width; feature=width; new_min=0.100; new_max=0.101; wear_limit_kind=wear; wear_limit=0.005", Refused, `new     = "0.100 .. 0.101 in"|no limit: a wear of 0.005 in`, "limit   ="},
		{"a length may do either", "characteristic=length; feature=length; new_min=1; new_max=2; wear_limit_kind=wear; wear_limit=0.1", Refused, "no limit", "limit   ="},
		{"wear without the size it adds to", "characteristic=bore; wear_limit_kind=wear; wear_limit=0.1", Refused, "without the band", "limit  ="},
		{"a spring's tolerance is no wear", "characteristic=load; feature=force; unit=lb; new_min=40; new_max=50; wear_limit_kind=wear; wear_limit=4", Refused, `"40 .. 50 lbf"|may be a tolerance`, "limit   ="},
		{"a pair printed the wrong way round", "characteristic=bore; new_min=1.6541; new_max=1.6525", Taken, `"1.6525 .. 1.6541 in"|printed with the larger figure first`, ""},
		{"an upper limit below new", "characteristic=bore; new_min=2.000; new_max=2.001; wear_limit_kind=max; wear_limit=1.999", Refused, "lies below the largest new figure", `new   =|limit =`},
		{"a lower limit above new", "characteristic=pin; feature=shaft; new_min=2.000; new_max=2.001; wear_limit_kind=min; wear_limit=2.0005", Refused, "lies above the smallest new figure", `new   =|limit =`},
		{"a limit on the edge of new is allowed", "characteristic=bore; new_min=2.000; new_max=2.001; wear_limit_kind=max; wear_limit=2.001", Taken, `"<= 2.001 in"`, ""},
		{"a decimal comma is never guessed", "characteristic=bore; new_min=2,000; new_max=2.001", Refused, "has a comma", "new  ="},
		{"a garbled cell", "characteristic=bore; new_min=().0030; new_max=2.001", Refused, "is not a figure", "new  ="},
		{"in doubt, though it reads well", "characteristic=bore; new_min=2.000; new_max=2.001; confidence=doubtful; doubt=misprint; repair=new_max 2.010", Refused,
			`"in doubt: misprint, a repair is suggested and not applied: new_max 2.010; printed: new 2.000 .. 2.001 in`, "new  =|limit"},
		{"two units that are not one size", "characteristic=bore; new_min=2.000; new_max=2.001; twin_unit=mm; new_min_twin=5.080; new_max_twin=50.825", Refused, "contradict each other", "new  ="},
		{"two units that differ a little", "characteristic=bore; new_min=2.000; new_max=2.001; twin_unit=mm; new_min_twin=50.85; new_max_twin=50.83", Taken, `"2.000 .. 2.001 in"|twins disagree beyond rounding: 2.000 in is 50.800 mm, printed 50.85`, ""},
		{"a band rounded to nothing", "characteristic=bore; new_min=3.937; new_max=3.937; twin_unit=mm; new_min_twin=100.00; new_max_twin=100.02", Taken, `new     = "100.00 .. 100.02 mm"|step    = "0.01 mm"`, ""},
		{"a band that is printed with no width", "characteristic=length; new_min=1.0950; new_max=1.0950", Taken, `"1.0950 .. 1.0950 in"`, ""},
		{"a service band is no new band", "characteristic=pin; feature=shaft; new_min=1.2478; new_max=1.2500; note=serviceable band, not a new-part band", Taken, `limit   = "1.2478 .. 1.2500 in"`, "new   "},
		{"a setting", "characteristic=tappet; feature=clearance; desired_clearance_min=0.0150", Noted, "printed: 0.0150 in, one figure", "new  =|limit ="},
		{"clearances of a clearance row", "characteristic=gap; feature=clearance; desired_clearance_min=.01; desired_clearance_max=.02; max_allowable_clearance=.045", Taken, `new     = "0.01 .. 0.02 in"|limit   = "<= 0.045 in"|step    = "0.001 in"`, ""},
		{"a largest clearance below the desired", "characteristic=gap; feature=clearance; desired_clearance_min=.01; desired_clearance_max=.02; max_allowable_clearance=.015", Refused, "lies below", "new  ="},
		{"two bands for one clearance", "characteristic=gap; feature=clearance; new_min=.01; new_max=.02; desired_clearance_min=.01; desired_clearance_max=.03", Refused, "two bands", "new  ="},
		{"a run-out has one new figure", "characteristic=taper; feature=runout; new_max=0.0005; wear_limit_kind=max; wear_limit=0.002", Taken, `"0 .. 0.0005 in"|"<= 0.002 in"`, ""},
		{"a limit without its kind", "characteristic=bore; wear_limit=2.1", Refused, "does not say of which kind", "limit ="},
		{"fractions", "characteristic=seat; feature=width; new_min=7/64; new_max=1/8", Taken, `new     = "7/64 .. 1/8 in"|step    = "1/64 in"|printed: new 7/64 .. 1/8 in`, ""},
		{"degrees and minutes", "characteristic=angle; feature=angle; unit=degree minute; new_min=45 20'; new_max=46 0'", Taken, `"45-1/3 .. 46 deg"|"1/60 deg"`, ""},
		{"a count is a bare number", "characteristic=coils; feature=count; unit=count; new_min=6; new_max=7", Taken, `new     = "6 .. 7"|step    = "1"`, ""},
		{"a tight fit", "characteristic=fit; feature=clearance; desired_clearance_min=0.003T; desired_clearance_max=0.005T", Taken, `Part: fit, interference|"0.003 .. 0.005 in"`, "larger figure"},
		{"tight, with the loosest allowed", "characteristic=fit; feature=clearance; new_min=-0.005; new_max=-0.003; wear_limit_kind=max; wear_limit=-0.001", Taken, `"0.003 .. 0.005 in"|">= 0.001 in"`, ""},
		{"from tight to loose without the two sizes", "characteristic=fit; feature=clearance; new_min=-0.001; new_max=0.001", Refused, "from tight to loose", "new  ="},
		{"no size is below zero", "characteristic=bore; new_min=-0.001; new_max=0.001", Refused, "a bore cannot be below zero", "new  ="},
		{"a note that would break the text", `characteristic=bore "A"; new_min=1; new_max=2; note=` + "a \"b\" ${c} \\ d\ne", Taken, `bore 'A'|a 'b' $ {c} / d e`, "${"},
	}
	for _, c := range cases {
		text, _ := c.hold(t, limitsTable)
		readPack(t, c.danger, text)
	}
}

// A fit that may be tight is worked out of the two sizes where they are to be found.
func TestSignedFitBecomesANumber(t *testing.T) {
	text, rows, err := Convert("made.csv", limitsTable(
		"characteristic=pin bore; new_min=2.3985; new_max=2.3989",
		"characteristic=pin fit in bore; feature=clearance; new_min=-0.0005; new_max=-0.0001; wear_limit_kind=max; wear_limit=+0.0002",
		"characteristic=pin diameter; feature=shaft; new_min=2.3988; new_max=2.3990",
		"characteristic=skirt diameter; feature=shaft; new_min=6.2380; new_max=6.2390"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"number \"part_pin_fit_in_bore\"", "value   = part_pin_bore - part_pin_diameter\n", `new     = "-0.0005 .. -0.0001 in"`, `limit   = "<= 0.0002 in"`} {
		if !strings.Contains(string(text), part) {
			t.Errorf("%q is not in\n%s", part, text)
		}
	}
	if rows[1].Outcome != Taken {
		t.Errorf("%+v", rows[1])
	}
}

// The clearance printed beside bore and shaft is one dimension, not three.
func TestClearanceBesideASize(t *testing.T) {
	beside := "; desired_clearance_min=0.001; desired_clearance_max=0.003; max_allowable_clearance=0.005"
	own, _, err := Convert("made.csv", limitsTable("characteristic=bore; new_min=1.000; new_max=1.001"+beside), Options{})
	if err != nil {
		t.Fatal(err)
	}
	blocks := readPack(t, "made.csv", string(own))
	if len(blocks) != 3 || blocks[2].name != "part_bore_clearance" || blocks[2].attributes["new"] != "0.001 .. 0.003 in" || blocks[2].attributes["limit"] != "<= 0.005 in" {
		t.Errorf("no dimension for the clearance:\n%s", own)
	}
	shared, rows, err := Convert("made.csv", limitsTable("characteristic=bore; new_min=1.000; new_max=1.001"+beside, "characteristic=clearance; feature=clearance"+beside), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if blocks := readPack(t, "made.csv", string(shared)); len(blocks) != 3 || !strings.Contains(rows[0].Says, `that of "Part: clearance"`) {
		t.Errorf("the clearance row is not found again: %+v\n%s", rows, shared)
	}
	tight, rows, err := Convert("made.csv", limitsTable("characteristic=bore; new_min=1.000; new_max=1.001; desired_clearance_min=-0.001; desired_clearance_max=0.001"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if rows[0].Outcome != Refused || strings.Count(string(tight), "new     =") != 1 {
		t.Errorf("a clearance from tight to loose was taken: %+v\n%s", rows, tight)
	}
}

func TestConvertJoints(t *testing.T) {
	cases := []rowCase{
		{"a range and its stages", "torque_min=41; torque_max=45; stages=12 | 25 | 43; lubricant_note=oiled; grade=8.8", Taken,
			`thread     = "M10x1.25"|torque     = "41 .. 45 N·m"|stages     = ["12 N·m", "25 N·m", "43 N·m"]|torque_for = "oiled"|grade      = "8.8"|torque = "M 1, Table 1"`, "step"},
		{"one figure is a target", "torque_min=60; torque_max=60", Taken, `target  = "60 N·m"`, "torque  "},
		{"angles end at an unknown torque", "torque_min=30; torque_max=30; stages=30 N.m | 45 deg | 45 deg", Taken, "to = \"30 N·m\"|angle = \"45 deg\"|ends on an angle", "torque  |target"},
		{"a loosening step is said", "torque_min=50; torque_max=60; stages=55 | loosen to 0 | 55", Taken, "back_off = true", "stages"},
		{"stages go down unsaid", "torque_min=50; torque_max=60; stages=55 | 30 | 55", Refused, "goes down", "torque  |stages  "},
		{"the last stage is not the torque", "torque_min=50; torque_max=60; stages=20 | 40", Refused, "is not the 50 .. 60", "torque  |stages  "},
		{"a stage that is a range is a choice", "torque_min=140; torque_max=150; stages=70-75 | 140-150", Refused, `stage '70-75' is not one torque`, "torque  |stages  "},
		{"a stage in another unit", "torque_min=50; torque_max=60; stages=20 ft-lb | 55 N.m", Refused, "not one torque", "torque  "},
		{"a length after the thread", "thread=M10 x 1 x 40; torque_min=50; torque_max=60", Taken, `"M10x1"|length  = "40 mm"`, ""},
		{"an inch thread", "thread=3/8-16 UNC; torque_min=16; torque_max=20; unit=ft-lb; grade=SAE 5", Taken, `"3/8-16"|"16 .. 20 ft-lb"|"SAE 5"`, ""},
		{"a mixed inch thread", "thread=1-1/8-7; torque_min=16; torque_max=20; unit=ft-lb", Taken, `"1-1/8-7"`, ""},
		{"left hand", "torque_min=5; torque_max=6; note=left-hand thread", Taken, `hand    = "left"`, ""},
		{"in doubt", "torque_min=5; torque_max=6; confidence=doubtful; repair=torque_max 60", Refused, "in doubt|torque_max 60", "torque  "},
		{"units that contradict", "torque_min=5; torque_max=6; twin_unit=ft-lb; torque_min_twin=3.7; torque_max_twin=44", Refused, "contradict", "torque  "},
		{"a unit that is no torque", "torque_min=5; torque_max=6; unit=kg", Refused, "is not one of the pack language's", "torque  "},
		{"a torque of nothing", "torque_min=0; torque_max=0", Refused, "not above zero", "torque  |target"},
		{"no thread", "thread=; torque_min=5; torque_max=6", Refused, "# Not a joint: stud, 5 .. 6 N.m: no thread", `joint "`},
		{"a size without pitch", "thread=3/8 in; torque_min=5; torque_max=6", Refused, "without threads to the inch", `joint "`},
		{"a length is no pitch", "thread=M14 x 100; torque_min=5; torque_max=6", Refused, "gives a length", `joint "`},
		{"no pitch", "thread=M12; torque_min=5; torque_max=6", Refused, "without a pitch", `joint "`},
		{"a factor", "thread=; unit=factor", Noted, "a factor for other rows", `joint "`},
	}
	for _, c := range cases {
		if _, block := c.hold(t, torqueTable); strings.Contains(block, `joint "`) {
			checkJoint(t, c.danger, block)
		}
	}
}

// checkJoint holds a joint's lines to one "=" each; a list of stages is allowed.
func checkJoint(t *testing.T, danger, block string) {
	t.Helper()
	for _, line := range strings.Split(strings.TrimSpace(block), "\n") {
		trimmed := strings.TrimSpace(line)
		if trimmed != "}" && !strings.HasPrefix(trimmed, "#") && !headLine.MatchString(line) && !attributeLine.MatchString(line) {
			t.Errorf("%s: not a line of a joint: %s", danger, line)
		}
	}
}

func TestMistakesInATable(t *testing.T) {
	good := string(limitsTable("characteristic=bore; new_min=1; new_max=2"))
	cases := []struct{ danger, table, says string }{
		{"a misspelt column", strings.Replace(good, "new_max,", "new_maks,", 1), `column "new_maks" of made.csv is not known: a limits table needs manual, table`},
		{"and the needed one is missing then", strings.Replace(good, "new_max,", "new_maks,", 1), `column "new_max" is missing in made.csv: a limits table needs`},
		{"a torque table without threads", "manual,table,fastener,torque_min,torque_max,unit,confidence\n", `column "thread" is missing in made.csv: a torque table needs`},
		{"a column twice", strings.Replace(good, "position,", "component,", 1), `column "component" stands twice`},
		{"an unknown confidence", strings.Replace(good, "aligned", "sure", 1), `line 2 of made.csv: confidence is "sure": write aligned or doubtful`},
		{"an unknown kind of limit", string(limitsTable("wear_limit_kind=most; wear_limit=2")), `wear_limit_kind is "most": write max or min or wear`},
		{"no manual", string(limitsTable("manual=")), "names no manual"},
		{"a row with too many cells", good + "a,b\n", "has 2 cells and the head 21"},
		{"no rows", strings.SplitAfter(good, "\n")[0], "has a head and no rows"},
		{"nothing", "", "made.csv is empty"},
		{"not text", "\xff\xfe", "is not UTF-8"},
		{"an open quotation mark", good + "\"a", "read made.csv"},
	}
	for _, c := range cases {
		text, rows, err := Convert("/somewhere/made.csv", []byte(c.table), Options{})
		if err == nil || !strings.Contains(err.Error(), c.says) || text != nil || rows != nil {
			t.Errorf("%s: %v", c.danger, err)
		}
		if err != nil && strings.Contains(err.Error(), "/somewhere") {
			t.Errorf("%s: the message has a path: %v", c.danger, err)
		}
	}
	if _, _, err := Convert("made.csv", []byte(good), Options{Manual: "M 2"}); err == nil || !strings.Contains(err.Error(), `no row of manual "M 2": it has M 1`) {
		t.Errorf("another manual: %v", err)
	}
}

// How a spreadsheet saves a table must not change the pack.
func TestSpreadsheetHabits(t *testing.T) {
	name := "tm_9-2815-252-24_table_3-4.csv"
	plain := readFile(t, tableFolder, name)
	want, wantRows, err := Convert(name, plain, Options{})
	if err != nil {
		t.Fatal(err)
	}
	all, err := csv.NewReader(bytes.NewReader(plain)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	separated := func(sign rune, crlf bool) []byte {
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma, w.UseCRLF = sign, crlf
		w.WriteAll(all)
		return b.Bytes()
	}
	for habit, table := range map[string][]byte{
		"byte order mark":     append([]byte("\ufeff"), plain...),
		"CRLF":                separated(',', true),
		"semicolons":          separated(';', false),
		"tabs":                separated('\t', true),
		"empty lines at end":  append(bytes.Clone(plain), []byte("\n,,,,,,,,,,,,,,,,,,,,,,,,,\n")...),
		"mark and semicolons": append([]byte("\ufeff"), separated(';', true)...),
	} {
		got, rows, err := Convert(name, table, Options{})
		if err != nil || !bytes.Equal(got, want) || fmt.Sprint(rows) != fmt.Sprint(wantRows) {
			t.Errorf("%s changes the pack: %v", habit, err)
		}
	}
}

// Names stay apart, short and legal whatever the labels are.
func TestNames(t *testing.T) {
	long := strings.Repeat("very long word ", 12)
	var rows []string
	for range 12 {
		rows = append(rows, "component="+long+"; characteristic="+long+"; position=front; new_min=1; new_max=2")
	}
	rows = append(rows, "component=; characteristic=max; new_min=1; new_max=2", "component=2nd; characteristic=; new_min=1; new_max=2",
		"component=ÉÀ; characteristic=ü; new_min=1; new_max=2", "component="+strings.Repeat("x", 200)+"; new_min=1; new_max=2")
	_, out, err := Convert("made.csv", limitsTable(rows...), Options{})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for i, row := range out {
		if !nameForm.MatchString(row.Name) || seen[row.Name] {
			t.Errorf("row %d has the name %q", i, row.Name)
		}
		seen[row.Name] = true
		if i > 0 && i < 12 && !strings.HasSuffix(row.Name, fmt.Sprintf("_%d", i+1)) {
			t.Errorf("row %d has the name %q", i, row.Name)
		}
	}
	for i, want := range map[int]string{12: "max_reading", 13: "row_2nd", 14: "row"} {
		if out[i].Name != want {
			t.Errorf("row %d has the name %q, not %q", i, out[i].Name, want)
		}
	}
}

// Several manuals in one table make a collection that says so.
func TestCollection(t *testing.T) {
	text, rows, err := Convert("made.csv", limitsTable("characteristic=bore; new_min=1; new_max=2", "manual=M 2; characteristic=bore; new_min=3; new_max=4"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if rows[0].Name != "m_1_part_bore" || rows[1].Name != "m_2_part_bore" || !strings.Contains(string(text), "Collection from 2 manuals, not one engine") || !strings.Contains(string(text), `"M 2: Part: bore"`) {
		t.Errorf("%+v\n%s", rows, text)
	}
	text, rows, err = Convert("made.csv", limitsTable("characteristic=bore; new_min=1; new_max=2", "manual=M 2; characteristic=bore; new_min=3; new_max=4"), Options{Manual: "M 2", ID: "bench", Title: "Mine", Revision: "7"})
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1 || rows[0].Line != 3 || rows[0].Name != "part_bore" || !strings.Contains(string(text), "pack \"bench\" {\n  title    = \"Mine\"\n  revision = \"7\"") {
		t.Errorf("%+v\n%s", rows, text)
	}
}

// FuzzConvert looks for a panic, a torn string or a row without an outcome.
func FuzzConvert(f *testing.F) {
	f.Add(limitsTable("characteristic=bore; new_min=1.5; new_max=2", "feature=clearance; new_min=-1; new_max=1/2T"))
	f.Add(torqueTable("torque_min=41; torque_max=45; stages=12 | 45 deg"))
	f.Fuzz(func(t *testing.T, table []byte) {
		text, rows, err := Convert("fuzz.csv", table, Options{BothUnits: true})
		if err != nil {
			if text != nil || rows != nil {
				t.Error("an error and a pack")
			}
			return
		}
		again, _, _ := Convert("fuzz.csv", table, Options{BothUnits: true})
		if !bytes.Equal(text, again) {
			t.Error("two packs from one table")
		}
		for _, row := range rows {
			if row.Outcome != Taken && row.Says == "" {
				t.Errorf("line %d is %s without a reason", row.Line, row.Outcome)
			}
		}
		for _, line := range strings.Split(string(text), "\n") {
			if comment := strings.HasPrefix(strings.TrimSpace(line), "#"); !comment && strings.Count(line, `"`)%2 != 0 || strings.Contains(line, "${") || strings.Contains(line, "%{") {
				t.Errorf("a torn line: %s", line)
			}
		}
	})
}
