package assess_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// A case file holds small jobs in a notation that can be read beside the contract:
//
//	# What goes wrong if this breaks.
//	=== a name
//	--- pack
//	dimension "bore" { … }                        the pack language; a header is added
//	--- journal
//	reading of=bore pos="10 mm" value="92.004 mm" one event a line: its kind and fields
//	--- set
//	bore[front] = 92.1 mm                         suppositions
//	--- expect
//	bore front: too-close 92.085 ± 0.005 mm; margin 0.005 mm; wear 0.94
//	attention measure.too-close dimension.bore front
//	next: hone front, wash
//
// What a case expects was worked out by hand from the contracts, never copied from
// the program. A value is compared to half a unit of its last digit. Findings that
// stop the job or want attention must all be listed; notes only as far as they matter.
// A section before the first case, "--- pack" or "--- journal", serves all cases of
// its file.
type testCase struct {
	file, name, danger                string
	line                              int
	pack, journal, set, now, expected []string
	at                                int // line of the first expected line
}

func readCases(t testing.TB, path string) []*testCase {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	common := &testCase{}
	at, section := common, ""
	var cases []*testCase
	var danger []string
	for i, line := range strings.Split(string(text), "\n") {
		switch {
		case strings.HasPrefix(line, "=== "):
			at = &testCase{file: path, line: i + 1, name: strings.TrimSpace(line[4:]), danger: strings.Join(danger, " ")}
			at.pack, at.journal = slices.Clone(common.pack), slices.Clone(common.journal)
			cases, section, danger = append(cases, at), "", nil
		case strings.HasPrefix(line, "--- "):
			section = strings.TrimSpace(line[4:])
			if section == "expect" {
				at.at = i + 2
			}
		case strings.HasPrefix(line, "# "), line == "":
			if strings.HasPrefix(line, "# ") {
				danger = append(danger, line[2:])
			} else if section != "" && section != "expect" {
				danger = nil
			}
			if section == "expect" {
				at.expected = append(at.expected, "")
			}
		case section == "pack":
			at.pack = append(at.pack, line)
		case section == "journal":
			at.journal = append(at.journal, line)
		case section == "set":
			at.set = append(at.set, line)
		case section == "now":
			at.now = append(at.now, line)
		case section == "expect":
			at.expected = append(at.expected, line)
		default:
			t.Fatalf("%s:%d: %q stands in no section", path, i+1, line)
		}
	}
	return cases
}

func TestCases(t *testing.T) {
	paths, err := filepath.Glob("testdata/cases/*.txt")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	total := 0
	for _, path := range paths {
		for _, c := range readCases(t, path) {
			total++
			t.Run(strings.TrimSuffix(filepath.Base(path), ".txt")+"/"+c.name, func(t *testing.T) { runCase(t, c) })
		}
	}
	if total < 80 {
		t.Errorf("only %d cases were found", total)
	}
}

func runCase(t *testing.T, c *testCase) {
	if c.danger == "" {
		t.Errorf("%s:%d: no comment above the case says what it guards", c.file, c.line)
	}
	if len(c.expected) == 0 {
		t.Fatalf("%s:%d: the case expects nothing", c.file, c.line)
	}
	a := c.assess(t)
	e := expectation{t: t, c: c, a: a, listed: map[string]bool{}}
	for i, line := range c.expected {
		if line == "" {
			continue
		}
		e.at = fmt.Sprintf("%s:%d", c.file, c.at+i)
		e.check(line)
	}
	for i := range a.Findings {
		if f := &a.Findings[i]; f.Severity > assess.Note && !e.listed[f.ID()] {
			t.Errorf("%s:%d: not expected: %s %s: %s", c.file, c.line, f.Severity, f.ID(), words.Finding(f).Says)
		}
	}
	if t.Failed() {
		t.Logf("pack:\n%s", numbered(c.pack))
		t.Logf("journal:\n%s", numbered(c.journal))
	}
}

func numbered(lines []string) string {
	var b strings.Builder
	for i, l := range lines {
		fmt.Fprintf(&b, "%3d %s\n", i+1, l)
	}
	return b.String()
}

// assess runs the job of a case.
func (c *testCase) assess(t testing.TB) *assess.Assessment {
	t.Helper()
	options := assess.Options{}
	for _, line := range c.now {
		now, err := time.Parse(time.RFC3339, line)
		if err != nil {
			t.Fatalf("%s:%d: %v", c.file, c.line, err)
		}
		options.Now = now
	}
	for _, line := range c.set {
		name, value, _ := strings.Cut(line, " = ")
		name, place, _ := strings.Cut(strings.TrimSuffix(name, "]"), "[")
		q, err := quantity.Parse(value)
		if err != nil {
			t.Fatalf("%s:%d: %v", c.file, c.line, err)
		}
		options.Suppose = append(options.Suppose, assess.Supposition{Name: name, Place: place, Value: q.Value})
	}
	return assess.Assess(loadPack(t, strings.Join(c.pack, "\n")), journal.Read(journalText(t, c.journal)).Fold(), options)
}

// loadPack reads a pack, to which a header is added if it has none.
func loadPack(t testing.TB, text string) *pack.Pack {
	t.Helper()
	if !strings.Contains("\n"+text, "\npack \"") {
		text += "\npack \"case\" {\n  title = \"case\"\n}\n"
	}
	p, mistakes := pack.Load([]pack.File{{Name: "case.pack", Text: []byte(text)}}, nil)
	for _, m := range mistakes {
		t.Errorf("%s: %s (%s)", m.Span, m.Says, m.Do)
	}
	if len(mistakes) > 0 {
		t.Fatalf("the pack has mistakes:\n%s", numbered(strings.Split(text, "\n")))
	}
	return p
}

// journalText turns the short notation into the lines of a journal. A line that is
// JSON already, or broken on purpose, begins with a brace or with "raw ".
func journalText(t testing.TB, lines []string) []byte {
	t.Helper()
	var out strings.Builder
	for i, line := range lines {
		if raw, ok := strings.CutPrefix(line, "raw "); ok {
			out.WriteString(raw + "\n")
			continue
		}
		out.Write(eventLine(t, i+1, line))
		out.WriteByte('\n')
	}
	return []byte(out.String())
}

func eventLine(t testing.TB, n int, line string) []byte {
	t.Helper()
	fields := splitFields(t, line)
	at := time.Date(2026, 3, 2, 8, n, 0, 0, time.UTC)
	event := map[string]any{"id": "e" + strconv.Itoa(n), "at": at.Format(time.RFC3339), "by": "bench", "kind": fields[0]}
	cell, sizes := map[string]any{}, map[string]any{}
	for _, f := range fields[1:] {
		key, value, ok := strings.Cut(f, "=")
		if !ok {
			t.Fatalf("%q in %q is no field", f, line)
		}
		value = strings.ReplaceAll(value, `\n`, "\n")
		var v any = value
		switch {
		case key == "late" || key == "assembled":
			v = value == "true"
		case key == "n" || key == "stage" || key == "count" || key == "minutes" || key == "point" && value != "all":
			x, err := strconv.Atoi(value)
			if err != nil {
				t.Fatalf("%q in %q is no number", f, line)
			}
			v = x
		}
		switch {
		case key == "pos":
			cell["position"] = v
		case key == "axis" || key == "n":
			cell[key] = v
		case strings.HasPrefix(key, "sizes."):
			sizes[key[len("sizes."):]] = v
		default:
			event[key] = v
		}
	}
	if len(cell) > 0 {
		event["cell"] = cell
	}
	if len(sizes) > 0 {
		event["sizes"] = sizes
	}
	out, err := json.Marshal(event)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// splitFields splits at blanks outside of quotes; a backtick quotes what holds quotes,
// and \n stands for a line end in it.
func splitFields(t testing.TB, line string) []string {
	t.Helper()
	var fields []string
	var b strings.Builder
	var quote rune
	for _, r := range line {
		switch {
		case quote == 0 && (r == '"' || r == '`'):
			quote = r
		case r == quote:
			quote = 0
		case quote == 0 && r == ' ':
			if b.Len() > 0 {
				fields = append(fields, b.String())
			}
			b.Reset()
		default:
			b.WriteRune(r)
		}
	}
	if b.Len() > 0 {
		fields = append(fields, b.String())
	}
	if quote != 0 || len(fields) == 0 {
		t.Fatalf("%q cannot be read", line)
	}
	return fields
}

// expectation checks the expected lines of one case.
type expectation struct {
	t      *testing.T
	c      *testCase
	a      *assess.Assessment
	at     string
	listed map[string]bool
}

func (e *expectation) errorf(format string, args ...any) {
	e.t.Helper()
	e.t.Errorf("%s: %s", e.at, fmt.Sprintf(format, args...))
}

func (e *expectation) check(line string) {
	e.t.Helper()
	head, rest, hasRest := strings.Cut(line, ":")
	rest = strings.TrimSpace(rest)
	word, subject, _ := strings.Cut(head, " ")
	switch word {
	case "stop", "attention", "note", "no":
		e.finding(word, subject, rest)
	case "next":
		e.list("next", rest, operations(e.a.Next))
	case "blocked":
		e.blocked(subject, hasRest, rest)
	case "space":
		e.space(subject, rest)
	case "lock":
		e.lock(subject, rest)
	case "locks", "waits", "parts", "filled":
		e.list(word, rest, e.standing(word))
	case "misfit":
		e.misfit(subject, rest)
	case "joint":
		e.joint(subject, rest)
	default:
		e.result(head, rest)
	}
}

func operations(list []assess.Operation) []string {
	var out []string
	for _, o := range list {
		out = append(out, strings.TrimPrefix(o.String(), "operation."))
	}
	return out
}

func (e *expectation) standing(what string) []string {
	var out []string
	switch what {
	case "locks":
		for _, l := range e.a.Locks {
			out = append(out, placed(l.Name, l.Place))
		}
	case "waits":
		for _, w := range e.a.Waits {
			out = append(out, strings.TrimPrefix(w.Operation.String(), "operation."))
		}
	case "parts":
		for _, s := range e.a.Missing {
			out = append(out, placed(s.Name, s.Place))
		}
	case "filled":
		out = e.a.Pack.ToBeFilledIn
	}
	return out
}

func placed(name, place string) string {
	if place == "" {
		return name
	}
	return name + " " + place
}

func split(list string) []string {
	if list == "" || list == "none" {
		return nil
	}
	return strings.Split(list, ", ")
}

func (e *expectation) list(what, want string, got []string) {
	e.t.Helper()
	if !slices.Equal(got, split(want)) {
		e.errorf("%s is %q, want %q", what, got, split(want))
	}
}

// finding reads "stop CODE OF PLACE: words" with "(accepted)" behind one that a
// deviation covers, and "no CODE OF PLACE" for one that must not be there.
func (e *expectation) finding(severity, id, says string) {
	e.t.Helper()
	id, accepted := strings.CutSuffix(id, " (accepted)")
	e.listed[id] = true
	var found *assess.Finding
	for i := range e.a.Findings {
		f := &e.a.Findings[i]
		if f.ID() == id || severity == "no" && strings.HasPrefix(f.ID(), id+" ") {
			found = f
			s := words.Finding(f)
			if says == "" || strings.Contains(s.Says+" "+strings.Join(s.Because, " ")+" "+s.Do, says) {
				break
			}
		}
	}
	switch {
	case severity == "no":
		if found != nil {
			e.errorf("there is %s %s", found.Severity, found.ID())
		}
		return
	case found == nil:
		e.errorf("there is no finding %s", id)
		return
	}
	if found.Severity.String() != severity {
		e.errorf("%s is %s", id, found.Severity)
	}
	if (found.Accepted != nil) != accepted {
		e.errorf("%s: accepted is %v", id, found.Accepted != nil)
	}
	s := words.Finding(found)
	if all := s.Says + " | " + strings.Join(s.Because, " | ") + " | " + s.Do; !strings.Contains(all, says) {
		e.errorf("%s says %q, without %q", id, all, says)
	}
}

func (e *expectation) blocked(name string, hasReasons bool, reasons string) {
	e.t.Helper()
	for _, b := range e.a.Blocked {
		if strings.TrimPrefix(b.Operation.String(), "operation.") != name {
			continue
		}
		if hasReasons {
			got, want := words.Reasons(b.Because), strings.Split(reasons, "; ")
			ok := len(got) == len(want)
			for _, w := range want {
				ok = ok && slices.ContainsFunc(got, func(g string) bool { return strings.Contains(g, w) })
			}
			if !ok {
				e.errorf("%s is blocked because %q, want %q", name, got, want)
			}
		}
		return
	}
	e.errorf("%s is not blocked; next is %q", name, operations(e.a.Next))
}

// space reads "space NAME PLACE: closed; unfinished a, b".
func (e *expectation) space(name, rest string) {
	e.t.Helper()
	state, unfinished, listed := strings.Cut(rest, "; unfinished ")
	for _, s := range e.a.Spaces {
		if placed(s.Name, s.Place) != name {
			continue
		}
		if s.Closed != (state == "closed") {
			e.errorf("space %s: closed is %v", name, s.Closed)
		}
		if listed {
			e.list("unfinished in "+name, unfinished, operations(s.Unfinished))
		}
		return
	}
	if state != "absent" {
		e.errorf("there is no space %s", name)
	}
}

func (e *expectation) lock(name, rest string) {
	e.t.Helper()
	for _, l := range e.a.Locks {
		if placed(l.Name, l.Place) == name {
			e.list("lock "+name+" until", strings.TrimPrefix(rest, "until "), l.Until)
			return
		}
	}
	e.errorf("no lock %s stands", name)
}

func (e *expectation) misfit(name, rest string) {
	e.t.Helper()
	part, reason, _ := strings.Cut(rest, "; ")
	for i := range e.a.Misfits {
		m := &e.a.Misfits[i]
		if placed(m.Slot, m.Place) != name {
			continue
		}
		if got := strings.Join(words.MisfitReasons(m), " | "); m.Part != part || !strings.Contains(got, reason) {
			e.errorf("misfit %s: %s because %q", name, m.Part, got)
		}
		return
	}
	e.errorf("nothing misfits %s", name)
}

func (e *expectation) joint(name, state string) {
	e.t.Helper()
	for _, j := range e.a.Joints {
		if placed(j.Name, j.Place) == name {
			if j.State != state {
				e.errorf("joint %s is %s", name, j.State)
			}
			return
		}
	}
	e.errorf("there is no joint %s", name)
}

func (e *expectation) find(name string) *assess.Result {
	kind := ""
	for _, k := range []string{"check", "dimension", "number", "sweep"} {
		if rest, ok := strings.CutPrefix(name, k+"."); ok {
			kind, name = k, rest
		}
	}
	for i := range e.a.Results {
		r := &e.a.Results[i]
		if placed(r.Name, r.Place) == name && (kind == "" && r.Kind != "check" || kind == r.Kind) {
			return r
		}
	}
	return nil
}

// result reads "NAME PLACE: VERDICT VALUE ± U UNIT; margin 0.005 mm; wear 0.94;
// missing a, b; readings 4; at 10 deg; supposed; late; drivers a, b; blank limit".
func (e *expectation) result(name, rest string) {
	e.t.Helper()
	r := e.find(name)
	if rest == "absent" {
		if r != nil {
			e.errorf("%s is there: %s", name, r.Verdict)
		}
		return
	}
	if r == nil {
		e.errorf("there is no result %s", name)
		return
	}
	fields := strings.Split(rest, "; ")
	verdict, value, hasValue := strings.Cut(fields[0], " ")
	if got := verdictOf(r); got != verdict {
		e.errorf("%s is %s (%s ± %s), want %s", name, got, words.Value(r), words.Expanded(r), verdict)
	}
	if hasValue {
		e.value(name, r, value)
	} else if r.HasValue && verdict != "passed" && verdict != "failed" {
		e.errorf("%s has a value %s that is not expected", name, words.Value(r))
	}
	for _, f := range fields[1:] {
		e.field(name, r, f)
	}
}

func verdictOf(r *assess.Result) string {
	if r.Kind != "check" {
		return r.Verdict.String()
	}
	switch {
	case r.Passed:
		return "passed"
	case r.Failed:
		return "failed"
	}
	return measure.NotMeasured.String()
}

// value compares "92.085 ± 0.005 mm", or "92.085 mm" for a value alone.
func (e *expectation) value(name string, r *assess.Result, want string) {
	e.t.Helper()
	if !r.HasValue {
		e.errorf("%s has no value, want %s", name, want)
		return
	}
	value, expanded, both := strings.Cut(want, " ± ")
	unit := ""
	if both {
		if u, symbol, ok := strings.Cut(expanded, " "); ok {
			expanded, unit = u, symbol
		}
	} else if v, symbol, ok := strings.Cut(value, " "); ok {
		value, unit = v, symbol
	}
	e.number(name, value, unit, r.Value)
	if both {
		e.difference(name+": ±", expanded, unit, r.Expanded)
	}
}

func (e *expectation) unit(symbol string) quantity.Unit {
	e.t.Helper()
	if symbol == "" {
		symbol = "1"
	}
	u, err := quantity.ParseUnit(symbol)
	if err != nil {
		e.t.Fatalf("%s: %v", e.at, err)
	}
	return u
}

func (e *expectation) number(what, digits, unit string, si float64) {
	e.t.Helper()
	e.digits(what, digits, e.unit(unit).In(si))
}

func (e *expectation) difference(what, digits, unit string, si float64) {
	e.t.Helper()
	e.digits(what, digits, e.unit(unit).InDifference(si))
}

// digits compares to half a unit of the last digit written.
func (e *expectation) digits(what, want string, got float64) {
	e.t.Helper()
	w, err := strconv.ParseFloat(want, 64)
	if err != nil {
		e.t.Fatalf("%s: %q is no number", e.at, want)
	}
	decimals := 0
	if _, fraction, ok := strings.Cut(want, "."); ok {
		decimals = len(fraction)
	}
	if half := 0.5000001 * math.Pow10(-decimals); !(math.Abs(got-w) <= half+1e-9*math.Abs(w)) {
		e.errorf("%s is %.9g, want %s", what, got, want)
	}
}

func (e *expectation) field(name string, r *assess.Result, field string) {
	e.t.Helper()
	key, want, _ := strings.Cut(field, " ")
	switch key {
	case "margin":
		if want == "none" {
			if r.HasMargin {
				e.errorf("%s has a margin %v", name, r.Margin)
			}
			return
		}
		digits, unit, _ := strings.Cut(want, " ")
		if !r.HasMargin {
			e.errorf("%s has no margin", name)
			return
		}
		e.difference(name+": margin", digits, unit, r.Margin)
	case "wear":
		if !r.HasWearUsed {
			e.errorf("%s has no share of wear", name)
			return
		}
		e.digits(name+": wear used", want, r.WearUsed)
	case "missing":
		e.list(name+": missing", want, r.Missing)
	case "blank":
		e.list(name+": blank", want, r.Blank)
	case "readings":
		e.list(name+": readings", want, []string{strconv.Itoa(r.Readings)})
	case "at":
		digits, unit, _ := strings.Cut(want, " ")
		e.number(name+": at", digits, unit, r.At)
	case "supposed":
		if !r.Supposed {
			e.errorf("%s is not shown as supposed", name)
		}
	case "late":
		if !r.Late {
			e.errorf("%s is not shown as late", name)
		}
	case "shows":
		if got := words.Measured(r); got != want {
			e.errorf("%s shows %q, want %q", name, got, want)
		}
	case "says":
		if got := words.Verdict(r); got != want {
			e.errorf("%s says %q, want %q", name, got, want)
		}
	case "drivers":
		var got []string
		for _, d := range r.Drivers {
			got = append(got, fmt.Sprintf("%s %.0f%%", d.Name, 100*d.Share))
		}
		e.list(name+": drivers", want, got)
	default:
		e.t.Fatalf("%s: there is no field %q", e.at, key)
	}
}
