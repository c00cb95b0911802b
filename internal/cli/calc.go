package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"buttonup/formula"
	"buttonup/internal/typed"
	"buttonup/measure"
	"buttonup/mechanics/argument"
	"buttonup/mechanics/fit"
	"buttonup/quantity"
)

type calcCommand struct {
	List      bool     `help:"List what can be computed."`
	Name      string   `arg:"" optional:"" help:"What to compute."`
	Arguments []string `arg:"" optional:"" name:"key=value" help:"Its arguments, written as in a pack."`
	JSON      bool     `name:"json" help:"Print JSON."`
}

// calculation is one thing that calc computes.
type calculation struct {
	name    string
	summary string
	// arguments it knows, an exclamation mark behind those it needs; "*" takes any.
	arguments []string
	source    string
	run       func(in *inputs) (*outputs, error)
}

// figure is an output as scripts read it: in SI and as it is printed, or a word.
type figure struct {
	SI   *float64 `json:"si,omitempty"`
	Text string   `json:"text"`
}

// outputs keep the order in which they were computed.
type outputs struct {
	names  []string
	values map[string]any
	notes  []string
}

// MarshalJSON writes the outputs in their order.
func (o *outputs) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	b.WriteByte('{')
	for i, name := range o.names {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := e.Encode(name); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := e.Encode(o.values[name]); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func newOutputs() *outputs { return &outputs{values: map[string]any{}} }

func (o *outputs) add(name string, v any) {
	o.names = append(o.names, name)
	o.values[name] = v
}

// number adds an output in a unit, with as many decimals as it is worth.
func (o *outputs) number(name string, si float64, u quantity.Unit, decimals int) {
	x := si
	o.add(name, figure{&x, u.Text(si, decimals)})
}

func (o *outputs) word(name, text string) { o.add(name, figure{Text: text}) }

func (o *outputs) note(format string, values ...any) {
	o.notes = append(o.notes, fmt.Sprintf(format, values...))
}

// inputs are the arguments of a calculation as they were written.
type inputs struct {
	given map[string]string
	order []string
}

func (in *inputs) has(name string) bool { _, ok := in.given[name]; return ok }

// quantity reads an argument of one value.
func (in *inputs) quantity(name string, want ...quantity.Dimension) (quantity.Quantity, error) {
	q, err := quantity.Parse(in.given[name])
	if err != nil {
		return q, argumentError(name, err)
	}
	if len(want) > 0 && q.Dimension != want[0] {
		return q, otherDimension(name, in.given[name], want[0], q.Dimension)
	}
	return q, nil
}

// argumentError names the argument of an error of the core.
func argumentError(name string, err error) error {
	f := &failure{Says: err.Error(), Argument: name, Code: ExitFailed}
	var pe *quantity.ParseError
	var ae *argument.Error
	switch {
	case errors.As(err, &pe):
		f.Says, f.Hint = name+": "+pe.Says, pe.Do
	case errors.As(err, &ae):
		f.Says, f.Hint = ae.Says, ae.Do
	}
	return f
}

func failedArgument(name, hint, format string, values ...any) error {
	return &failure{Says: fmt.Sprintf(format, values...), Argument: name, Hint: hint, Code: ExitFailed}
}

// otherDimension refuses a value of another kind than an argument has.
func otherDimension(name, given string, want, got quantity.Dimension) error {
	hint := "write it as a plain number"
	if u := quantity.Metric.Unit(want); u.Symbol != "1" {
		hint = "give it a unit of " + want.String() + ", like " + u.Symbol
	}
	return failedArgument(name, hint, "%s is %s, and %q is %s", name, withArticle(want), given, withArticle(got))
}

func withArticle(d quantity.Dimension) string {
	word := d.String()
	if strings.ContainsRune("aeiou", rune(word[0])) {
		return "an " + word
	}
	return "a " + word
}

// calculations lists what calc computes, by name.
var calculations = map[string]*calculation{}

func register(c *calculation) { calculations[c.name] = c }

func init() {
	register(&calculation{name: "convert", summary: "one value in another unit", arguments: []string{"value!", "to!"},
		source: "NIST SP 811, Appendix B: exact factors. Seen: unit tests that quote it", run: calcConvert})
	register(&calculation{name: "evaluate", summary: "a formula of values with their ±", arguments: append([]string{"formula!"}, append(evaluateOptions, "*")...),
		source: "JCGM 100:2008, 5.1.2 (first order) and G.4 (effective degrees of freedom), JCGM 101:2008 (Monte Carlo); worst case by intervals, textbook. Seen: worked examples as test data", run: calcEvaluate})
	register(&calculation{name: "decide", summary: "a value with its ± against limits", arguments: []string{"value!", "lower", "upper"},
		source: "ISO 14253-1 (rule) and JCGM 106:2012, 7 (probability). Memory; examples recomputed", run: calcDecide})
	register(&calculation{name: "fit-grade", summary: "limit sizes and clearance of a hole and shaft", arguments: []string{"size!", "hole!", "shaft!"},
		source: "ISO 286-1 and -2, tables. Seen: pages reproducing them; see docs/sources/iso-286.md", run: calcFit})
}

// Run computes one thing.
func (c *calcCommand) Run(a *app) error {
	k, ok := calculations[c.Name]
	switch {
	case c.List && ok:
		return c.list(a, []string{c.Name})
	case c.List && c.Name == "", c.Name == "list" && !ok:
		return c.list(a, sortedKeys(calculations))
	case c.Name == "":
		return misused("NAME", "buttonup calc --list names them", "calc needs the name of what to compute")
	}
	if !ok {
		if name, _, hasValue := strings.Cut(c.Name, "="); hasValue {
			words := strings.Fields(name)
			if len(words) > 1 && calculations[words[0]] != nil {
				return misused(c.Name, "write "+words[0]+" and each argument as words of their own, not in one pair of quotes", "%q is not the name of a calculation", typed.Shortened(c.Name))
			}
			return misused("NAME", "write it first, like buttonup calc convert "+shellWord(c.Name)+"; buttonup calc --list names them", "the name of what to compute is missing")
		}
		names := sortedKeys(calculations)
		hint := "buttonup calc --list names them"
		if near := formula.Nearest(c.Name, names); near != "" {
			hint = "perhaps " + near + " is meant; " + hint
		}
		return misused(c.Name, hint, "calc knows no %q", c.Name)
	}
	in, err := readArguments(k, c.Arguments)
	if err != nil {
		return err
	}
	out, err := k.run(in)
	if err != nil {
		return err
	}
	return c.print(a, k, in, out)
}

func readArguments(k *calculation, list []string) (*inputs, error) {
	in := &inputs{given: map[string]string{}}
	known := map[string]bool{}
	var names []string
	any := false
	for _, name := range k.arguments {
		name = strings.TrimSuffix(name, "!")
		if name == "*" {
			any = true
			continue
		}
		known[name] = true
		names = append(names, name)
	}
	for at, s := range list {
		key, value, ok := strings.Cut(s, "=")
		key = strings.Trim(strings.TrimSpace(key), `'"`)
		switch {
		case !ok || key == "":
			return nil, strayArgument(k, list, at)
		case in.has(key):
			return nil, misused(key, "give it once", "%s is given twice", key)
		case !known[key] && (!any || !nameText.MatchString(key)):
			hint := k.name + " takes " + strings.Join(names, ", ")
			if near := formula.Nearest(key, names); near != "" {
				hint = "perhaps " + near + " is meant; " + hint
			} else if any {
				hint = "a name in a formula begins with a letter and holds letters, digits and _"
			}
			return nil, misused(key, hint, "%s takes no %s", k.name, key)
		case strings.TrimSpace(value) == "":
			if at+1 < len(list) && !strings.Contains(list[at+1], "=") {
				return nil, strayArgument(k, list, at+1)
			}
			return nil, misused(key, "write "+key+"=… with a value", "%s is empty", key)
		}
		if key == "pi" {
			return nil, misused(key, "choose another name", "pi is a number that every formula knows")
		}
		in.given[key] = unquoted(key, strings.TrimSpace(value))
		in.order = append(in.order, key)
	}
	for _, name := range k.arguments {
		if n, needed := strings.CutSuffix(name, "!"); needed && !in.has(n) {
			return nil, misused(n, fmt.Sprintf("add %s=… ; %s takes %s", n, k.name, strings.Join(names, ", ")), "%s needs %s", k.name, n)
		}
	}
	return in, nil
}

// nameText is what a formula can name.
var nameText = regexp.MustCompile(`^[\p{L}_][\p{L}\p{N}_]*$`)

// unquoted takes the quotes off a quantity that is written as in a pack. In a formula
// they belong to what is inside.
func unquoted(key, value string) string {
	if key == "formula" {
		return value
	}
	for _, q := range [...][2]string{{`"`, `"`}, {"'", "'"}, {"“", "”"}} {
		inside, ok := strings.CutPrefix(value, q[0])
		if inside, ok2 := strings.CutSuffix(inside, q[1]); ok && ok2 && !strings.ContainsAny(inside, `"'`) {
			return strings.TrimSpace(inside)
		}
	}
	return value
}

// strayArgument refuses a word that is no name=value and writes the argument as it
// was meant: nearly always a value was parted at its blanks.
func strayArgument(k *calculation, list []string, at int) error {
	from := at
	for from > 0 && !strings.Contains(list[from], "=") {
		from--
	}
	if from+1 < len(list) && strings.HasPrefix(list[from+1], "=") {
		return spacedArgument(list, from, at)
	}
	to := at + 1
	for to < len(list) && !strings.Contains(list[to], "=") {
		to++
	}
	key, value, ok := strings.Cut(strings.Trim(strings.Join(list[from:to], " "), `'"`), "=")
	hint := "write name=value, in quotes where it holds blanks: buttonup calc " + k.name + " " + example(k)
	if value = strings.TrimSpace(value); ok && key != "" && value != "" {
		hint = "put a value that holds blanks in quotes: " + shellWord(key+"="+strings.Trim(value, `'"`))
	}
	return misused(list[at], hint, "%q is not name=value", list[at])
}

// spaced is the first name = value of a list that was written with blanks.
var spaced = regexp.MustCompile(`^(\S+)\s*=\s*(.+?)(?:\s+\S+\s*=.*)?$`)

// spacedArgument refuses name = value with blanks beside the equals sign.
func spacedArgument(list []string, from, at int) error {
	fix := "name=value"
	if m := spaced.FindStringSubmatch(strings.Join(list[from:], " ")); m != nil {
		fix = shellWord(m[1] + "=" + m[2])
	}
	return misused(list[at], "write it without blanks beside the =: "+fix, "%q is not name=value", list[at])
}

// example writes the arguments that a calculation needs.
func example(k *calculation) string {
	var words []string
	for _, name := range k.arguments {
		if n, needed := strings.CutSuffix(name, "!"); needed {
			words = append(words, n+"=…")
		}
	}
	return strings.Join(words, " ")
}

type argumentEntry struct {
	Name   string `json:"name"`
	Needed bool   `json:"needed"`
}

func (c *calcCommand) list(a *app, names []string) error {
	type entry struct {
		Name      string          `json:"name"`
		Summary   string          `json:"summary"`
		Arguments []argumentEntry `json:"arguments"`
		Names     bool            `json:"names"`
		Source    string          `json:"source"`
	}
	list := []entry{}
	for _, name := range names {
		k := calculations[name]
		e := entry{Name: k.name, Summary: k.summary, Arguments: []argumentEntry{}, Source: k.source}
		for _, n := range k.arguments {
			if n == "*" {
				e.Names = true
				continue
			}
			bare := strings.TrimSuffix(n, "!")
			e.Arguments = append(e.Arguments, argumentEntry{bare, bare != n})
		}
		list = append(list, e)
	}
	if a.json {
		a.printJSON(map[string]any{"calculations": list})
		return nil
	}
	width := 0
	for _, e := range list {
		width = max(width, len(e.Name))
	}
	for _, e := range list {
		var names []string
		for _, n := range e.Arguments {
			if n.Needed {
				names = append(names, n.Name)
			} else {
				names = append(names, "["+n.Name+"]")
			}
		}
		if e.Names {
			names = append(names, "and one for each name in the formula")
		}
		fmt.Fprintf(a.out, "%-*s  %s\n%-*s  %s\n", width, e.Name, e.Summary, width, "", strings.Join(names, ", "))
	}
	return nil
}

func (c *calcCommand) print(a *app, k *calculation, in *inputs, out *outputs) error {
	if a.json {
		notes := out.notes
		if notes == nil {
			notes = []string{}
		}
		a.printJSON(struct {
			Name    string            `json:"name"`
			Inputs  map[string]string `json:"inputs"`
			Outputs *outputs          `json:"outputs"`
			Source  string            `json:"source"`
			Notes   []string          `json:"notes"`
		}{k.name, in.given, out, k.source, notes})
		return nil
	}
	for _, name := range out.names {
		switch v := out.values[name].(type) {
		case figure:
			fmt.Fprintf(a.out, "%-14s %s\n", name, v.Text)
		case []driver:
			for _, d := range v {
				fmt.Fprintf(a.out, "%-14s %s %.0f %%\n", "± from", d.Name, 100*d.Share)
			}
		}
	}
	for _, n := range out.notes {
		fmt.Fprintf(a.out, "note: %s\n", n)
	}
	fmt.Fprintf(a.out, "source: %s\n", k.source)
	return nil
}

// plain prints a number with seven significant digits, trailing zeros left out.
func plain(x float64) string { return strconv.FormatFloat(x, 'g', 7, 64) }

func calcConvert(in *inputs) (*outputs, error) {
	to, err := quantity.ParseUnit(in.given["to"])
	if err != nil {
		return nil, argumentError("to", err)
	}
	q, err := in.quantity("value")
	if err != nil {
		return nil, err
	}
	from := q.Dimension
	if from == quantity.OfTemperatureDifference && to.Dimension == quantity.OfTemperature {
		from = quantity.OfTemperature // a bare K is read as a temperature when a temperature is asked for
	}
	if from == quantity.OfTemperature && to.Dimension == quantity.OfTemperatureDifference {
		to.Dimension = from
	}
	if from != to.Dimension {
		return nil, failedArgument("to", "choose a unit of "+q.Dimension.String()+", like "+quantity.Metric.Unit(q.Dimension).Symbol, "value %q is %s and cannot become to %q, a unit of %s", in.given["value"], withArticle(q.Dimension), in.given["to"], to.Dimension)
	}
	out := newOutputs()
	x := to.In(q.SI)
	text := plain(x)
	if to.Symbol != "1" {
		text += " " + to.Symbol
	}
	si := q.SI
	out.add("value", figure{&si, text})
	return out, nil
}

func calcDecide(in *inputs) (*outputs, error) {
	v, err := quantity.ParseUncertain(in.given["value"])
	if err != nil {
		return nil, argumentError("value", err)
	}
	var lower, upper *float64
	for _, name := range []string{"lower", "upper"} {
		to := map[string]**float64{"lower": &lower, "upper": &upper}[name]
		if !in.has(name) {
			continue
		}
		q, err := in.quantity(name)
		if err != nil {
			return nil, err
		}
		if q.Dimension != v.Dimension {
			return nil, failedArgument(name, "give both a unit of one kind", "value %q is %s, and %s %q is %s", in.given["value"], withArticle(v.Dimension), name, in.given[name], withArticle(q.Dimension))
		}
		x := q.SI
		*to = &x
	}
	if lower == nil && upper == nil {
		return nil, misused("upper", "give lower=…, upper=… or both", "decide needs a limit")
	}
	if lower != nil && upper != nil && *lower > *upper {
		return nil, failedArgument("lower", "give the smaller as lower", "lower %s lies above upper %s", in.given["lower"], in.given["upper"])
	}
	verdict, err := measure.DecideConformity(v.SI, measure.Reach(v.Standard, v.Shape), lower, upper)
	if err != nil {
		return nil, failedArgument("value", "", "%v", err)
	}
	p, err := measure.ConformanceOf(v.SI, v.Standard, v.Shape, v.Dof, lower, upper)
	if err != nil {
		return nil, failedArgument("value", "", "%v", err)
	}
	out := newOutputs()
	out.word("verdict", string(verdict))
	out.add("probability", figure{&p, quantity.FormatNumber(p, 4)})
	if v.Standard == 0 {
		out.note("the value has no ±, so the verdict is that of the value alone")
	}
	if v.Standard > 0 && v.Shape != quantity.Normal {
		out.note("a %s ± reaches its ends and no further: those count for the verdict", v.Shape)
	}
	if v.Standard > 0 && !math.IsInf(v.Dof, 1) {
		out.note("the probability is that of Student's distribution with %s degrees of freedom", plain(v.Dof))
	}
	return out, nil
}

func calcFit(in *inputs) (*outputs, error) {
	size, err := in.quantity("size", quantity.OfLength)
	if err != nil {
		return nil, err
	}
	l := quantity.Length(size.SI)
	out := newOutputs()
	u := size.Unit
	d := 3
	if u.Symbol != "mm" {
		d = 5
	}
	for _, side := range []string{"hole", "shaft"} {
		low, high, err := fit.Limits(l, in.given[side])
		if err != nil {
			return nil, fitError(side, err)
		}
		out.number(side+"_low", float64(low), u, d)
		out.number(side+"_high", float64(high), u, d)
	}
	low, high, err := fit.Clearance(l, in.given["hole"], in.given["shaft"])
	if err != nil {
		return nil, fitError("hole", err)
	}
	out.number("clearance_min", float64(low), u, d)
	out.number("clearance_max", float64(high), u, d)
	if low < 0 {
		out.note("a negative clearance is an interference")
	}
	return out, nil
}

// fitError names the argument at fault: the size, or the side whose class it is.
func fitError(side string, err error) error {
	name := side
	var ae *argument.Error
	if errors.As(err, &ae) && ae.Argument == "size" {
		name = "size"
	}
	f := argumentError(name, err).(*failure)
	if f.Hint == "" {
		f.Hint = "write a hole like H7 and a shaft like g6"
	}
	return f
}
