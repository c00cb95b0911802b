package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// doView is the page of one operation at one place.
type doView struct {
	view
	Op    *pack.Operation
	Here  assess.Operation
	Place string
	// Done is the entry that says so, nil while it is to do.
	Done *journal.OperationRecord
	// Ready is set when it may be done now; Because says what keeps it from that, the
	// holds left out, which stand in a list of their own.
	Ready    bool
	Because  []obstacle
	Wait     *assess.Wait
	Cautions []caution
	Lay      []laid
	Same     []laid // what the first end wanted too, folded
	First    string // the first end that this one repeats
	Holds    []holdLine
	Joints   []jointLine
	Closes   []*assess.Space
	// Closing is what it would shut in; nil where it closes nothing for good now.
	Closing *assess.Closing
	Opens   []string
	Within  []string
	Notes   []journal.NoteRecord
	Photos  []journal.PhotoRecord
	After   *assess.Operation // what may be done next
	// YesToAll are the checks that one press answers with yes.
	YesToAll []string
	Source   string
	// Blanks are figures to fill in here; Unchecked are things of somebody else's pack
	// that nobody confirmed.
	Blanks    []blankLine
	Unchecked []unchecked
	// Sign is who looked besides, and who signed.
	Sign signView
}

// obstacle is something that keeps the operation from being done, and where to see to it.
type obstacle struct{ Says, Address string }

type caution struct{ Title, Text string }

// laid is a line of what is laid out before the work begins.
type laid struct {
	Sign, What, Detail string
	// New marks what is used once and must be new; Missing what is not there yet.
	New, Missing bool
	// Not names a part that looks like it and is not, and how to tell; Misfit says why
	// this part does not belong here at all.
	Not, Misfit string
	// Sized is where the size is chosen, for what is chosen by its size.
	Sized string
}

// holdLine is a value or a check that must stand before the operation is done.
type holdLine struct {
	Result   *assess.Result
	Met      bool
	Accepted *journal.DeviationRecord
	Check    *pack.Check
}

// jointLine is a joint that the operation tightens.
type jointLine struct {
	*assess.Joint
	Says, How string
	Address   string
}

// doPath is where one operation is done.
func doPath(s *sheet, op assess.Operation) string {
	if op.Place == "" {
		return jobPath(s.Job.ID, "do", op.Name)
	}
	return jobPath(s.Job.ID, "do", op.Name, op.Place)
}

func wrenchPath(s *sheet, joint, place string) string {
	if place == "" {
		return jobPath(s.Job.ID, "wrench", joint)
	}
	return jobPath(s.Job.ID, "wrench", joint, place)
}

// do shows one operation: what to lay out, what must be proven, how to record it.
func (s *Server) do(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	op, here := sh.operation(r.PathValue("operation")), assess.Operation{Name: r.PathValue("operation"), Place: r.PathValue("place")}
	if op == nil || !sh.isPlace(op.At, here.Place) {
		if op != nil && here.Place == "" {
			http.Redirect(w, r, doPath(sh, assess.Operation{Name: op.Name, Place: members(sh.pack.Pack, op.At)[0]}), http.StatusSeeOther)
			return
		}
		s.trouble(w, r, notFound("The pack of this job has no operation of that name at that place."))
		return
	}
	d := &doView{view: s.view(r, "job", sh), Op: op, Here: here, Place: here.Place}
	d.Title = words.Operation(sh.pack.Pack, here)
	d.Also = []string{"act.css", "act.js", "shop.css", "photo.js"}
	d.fill()
	d.Sign = s.signing(r, d)
	s.show(w, r, http.StatusOK, doPage(d))
}

func (d *doView) fill() {
	sh := d.Sheet
	for i := range sh.State.Operations {
		rec := &sh.State.Operations[i]
		if strings.TrimPrefix(rec.Operation, "operation.") == d.Here.Name && rec.Place == d.Here.Place {
			d.Done = rec
		}
	}
	if d.Done != nil && d.Done.State != journal.Done {
		d.Done = nil
	}
	d.Ready = slices.Contains(sh.A.Next, d.Here)
	reasons := others(sh.because(d.Here))
	for i, says := range words.ReasonsIn(sh.pack.Pack, reasons, d.System) {
		d.Because = append(d.Because, obstacle{words.Upper(says), sh.addressOf(reasons[i].Of)})
	}
	for i := range sh.A.Waits {
		if sh.A.Waits[i].Operation == d.Here {
			d.Wait = &sh.A.Waits[i]
		}
	}
	d.cautions()
	d.layOut()
	d.holds()
	for _, name := range d.Op.Tightens {
		name = strings.TrimPrefix(name, "joint.")
		for i := range sh.A.Joints {
			j := &sh.A.Joints[i]
			if j.Name == name && slices.Contains(sh.reach(d.Op.At, d.Here.Place, j.Joint.At), j.Place) {
				d.Joints = append(d.Joints, d.jointLine(j))
			}
		}
	}
	d.Closes = sh.closes(d.Op, d.Here.Place)
	if len(d.Closes) > 0 {
		d.Closing, _ = sh.pack.model.BeforeClosing(sh.State, assess.Options{Now: sh.made}, d.Here)
	}
	for _, name := range d.Op.Opens {
		d.Opens = append(d.Opens, words.Named(sh.pack.Pack, "space."+strings.TrimPrefix(name, "space.")))
	}
	for _, x := range d.Op.Within {
		d.Within = append(d.Within, words.Named(sh.pack.Pack, "operation."+x.Operation)+" within "+words.Duration(x.Time))
	}
	about := d.Here.String()
	for _, n := range sh.State.Notes {
		if n.Of == about {
			d.Notes = append(d.Notes, n)
		}
	}
	for _, p := range sh.State.Photos {
		if p.Of == about {
			d.Photos = append(d.Photos, p)
		}
	}
	d.After = sh.after(d.Here)
	d.Source = d.source()
	d.Blanks = d.blanks()
	for i := range d.Joints {
		if x, ok := sh.unchecked("joint."+d.Joints[i].Name, &d.Joints[i].Joint.Joint.Common); ok {
			d.Unchecked = append(d.Unchecked, x)
		}
	}
}

// after is what comes after an operation: what may be done now, else what only wants to
// be looked at or read first.
func (s *sheet) after(here assess.Operation) *assess.Operation {
	for _, next := range s.A.Advised() {
		if next != here {
			return &next
		}
	}
	for i := range s.A.Blocked {
		b := &s.A.Blocked[i]
		if b.Operation != here && len(others(b.Because)) == 0 {
			return &b.Operation
		}
	}
	return nil
}

// addressOf is where to see to what a reference names, "" for what has no page.
func (s *sheet) addressOf(reference string) string {
	name, place, _ := strings.Cut(reference, " ")
	kind, name, _ := strings.Cut(name, ".")
	switch kind {
	case "operation":
		if op := s.operation(name); op != nil && s.isPlace(op.At, place) {
			return doPath(s, assess.Operation{Name: name, Place: place})
		}
	case "dimension":
		return query(jobPath(s.Job.ID, "read", name), "place", place)
	case "joint":
		return wrenchPath(s, name, place)
	}
	return ""
}

// others are the reasons that have no list of their own on the page.
func others(reasons []assess.Reason) []assess.Reason {
	var list []assess.Reason
	for _, r := range reasons {
		if r.Kind != assess.Hold && r.Kind != assess.Unfinished {
			list = append(list, r)
		}
	}
	return list
}

// cautions come first on the page: those of the operation, of its joints and those that
// the pack writes beside it.
func (d *doView) cautions() { d.Cautions = d.Sheet.cautionsOf(d.Op) }

// layOut lists what is laid out; at a second end only what differs from the first, the
// rest folded.
func (d *doView) layOut() {
	d.Lay = d.laid(d.Here.Place)
	list := members(d.Sheet.pack.Pack, d.Op.At)
	if len(list) < 2 || d.Here.Place == list[0] {
		return
	}
	for _, first := range list {
		if first != d.Here.Place && d.Sheet.isDone(assess.Operation{Name: d.Op.Name, Place: first}) {
			d.First = first
			break
		}
	}
	if d.First == "" {
		return
	}
	before := d.laid(d.First)
	var differs []laid
	for _, x := range d.Lay {
		if slices.Contains(before, x) {
			d.Same = append(d.Same, x)
		} else {
			differs = append(differs, x)
		}
	}
	d.Lay = differs
}

// isDone says whether the newest entry of an operation says that it was done.
func (s *sheet) isDone(op assess.Operation) bool {
	done := false
	for _, rec := range s.State.Operations {
		if strings.TrimPrefix(rec.Operation, "operation.") == op.Name && rec.Place == op.Place {
			done = rec.State == journal.Done
		}
	}
	return done
}

func (d *doView) laid(place string) []laid {
	sh := d.Sheet
	var list []laid
	for _, name := range d.Op.Fits {
		list = append(list, sh.laidParts(d.Op, place, strings.TrimPrefix(name, "slot."))...)
	}
	for _, use := range d.Op.Uses {
		list = append(list, laid{Sign: "drop", What: words.Upper(use)})
	}
	var poured []string
	for name := range d.Op.Pours {
		poured = append(poured, name)
	}
	slices.Sort(poured)
	for _, name := range poured {
		list = append(list, laid{Sign: "drop", What: words.Upper(strings.ReplaceAll(name, "_", " ")), Detail: pouredIn(d.Op.Pours[name], d.System)})
	}
	for _, x := range []struct {
		names []string
		says  string
	}{{d.Op.PutsIn, "goes in, and must come out again"}, {d.Op.TakesOut, "comes out: count it"}} {
		for _, name := range x.names {
			detail := x.says
			for _, t := range sh.pack.Temporaries {
				if t.Name == strings.TrimPrefix(name, "temporary.") && t.Count > 1 {
					detail = strconv.Itoa(t.Count) + ", " + detail
				}
			}
			list = append(list, laid{Sign: "bolt", What: words.Named(sh.pack.Pack, "temporary."+strings.TrimPrefix(name, "temporary.")), Detail: detail})
		}
	}
	for _, name := range d.Op.Tightens {
		for _, j := range sh.pack.Joints {
			if j.Name != strings.TrimPrefix(name, "joint.") {
				continue
			}
			if tool := socketOf(j); tool != "" {
				list = append(list, laid{Sign: "wrench", What: words.Upper(tool), Detail: j.Title + ", " + j.Thread})
			}
			if on := threadState(j); on != "" {
				list = append(list, laid{Sign: "drop", What: words.Upper(on), Detail: "on the threads of " + lowerFirst(j.Title)})
			}
			if j.SingleUse {
				list = append(list, laid{Sign: "once", What: words.Upper(words.Count(max(len(j.Points), 1), "new fastener", "new fasteners")), Detail: j.Title + ": not used again", New: true})
			}
		}
	}
	if d.Op.Tool != "" {
		list = append(list, laid{Sign: "wrench", What: words.Upper(d.Op.Tool)})
	}
	if d.Op.Fixture != "" {
		detail := ""
		if d.Op.Side != "" {
			detail = d.Op.Side + " side"
		}
		list = append(list, laid{Sign: "gasket", What: words.Upper(d.Op.Fixture), Detail: detail})
	}
	return list
}

// pouredIn prints a quantity of the pack in the units of a shop.
func pouredIn(q quantity.Quantity, s quantity.System) string {
	u, decimals := words.UnitIn(q.Unit, max(q.Decimals, 0), s)
	return u.Text(q.SI, decimals)
}

func socketOf(j *pack.Joint) string {
	switch {
	case j.Socket != "" && j.Drive != "":
		return j.Socket + " socket, " + j.Drive + " drive"
	case j.Socket != "":
		return j.Socket + " socket"
	case j.Drive != "":
		return j.Drive + " drive"
	}
	return ""
}

func threadState(j *pack.Joint) string { return orElse(j.State, j.TorqueFor) }

func lowerFirst(text string) string {
	if len(text) > 1 && text[0] >= 'A' && text[0] <= 'Z' && text[1] >= 'a' && text[1] <= 'z' {
		return strings.ToLower(text[:1]) + text[1:]
	}
	return text
}

// laidParts says what fills a slot where an operation works: the part chosen for this
// job with its numbers, or what it waits for.
func (s *sheet) laidParts(op *pack.Operation, place, name string) []laid {
	var slot *pack.Slot
	for _, x := range s.pack.Slots {
		if x.Name == name {
			slot = x
		}
	}
	if slot == nil {
		return nil
	}
	var list []laid
	if slot.Member != "" && place != "" && place != slot.Member {
		return nil
	}
	for _, member := range s.reach(op.At, place, slot.At) {
		line := laid{Sign: "gasket", What: words.Title(slot.Title, member), New: slot.OneUse || slot.AlwaysReplace, Detail: slot.Note}
		line.Sized = s.sized(slot, member)
		rec := s.chosen(name, member)
		switch {
		case rec == nil:
			line.Missing = s.missing(name, member)
		default:
			line.Detail = s.partSays(rec, slot.Title)
			line.Not = s.alike(rec.Part, name)
			line.Misfit = s.misfit(rec.Part, name, member)
			if slot.Note != "" {
				line.Detail += ". " + slot.Note
			}
		}
		list = append(list, line)
	}
	return list
}

// chosen is the newest entry of a part in a slot, nil when none stands there.
func (s *sheet) chosen(slot, place string) *journal.PartRecord {
	var found *journal.PartRecord
	for i := range s.State.Parts {
		rec := &s.State.Parts[i]
		if strings.TrimPrefix(rec.Slot, "slot.") != slot || rec.Place != place {
			continue
		}
		switch rec.State {
		case journal.Rejected, journal.Removed, journal.Sent:
			found = nil
		default:
			if rec.Part != "" || found == nil {
				found = rec
			}
		}
	}
	return found
}

func (s *sheet) missing(slot, place string) bool {
	return slices.ContainsFunc(s.A.Missing, func(x assess.Slot) bool { return x.Name == slot && x.Place == place })
}

func (s *sheet) part(id string) *pack.Part {
	for _, p := range s.pack.Parts {
		if p.Name == id {
			return p
		}
	}
	return nil
}

// partSays names a part by all numbers it goes by, and how it stands.
func (s *sheet) partSays(rec *journal.PartRecord, title string) string {
	var facts []string
	if p := s.part(rec.Part); p != nil {
		if p.Title != title {
			facts = append(facts, p.Title)
		}
		var kinds []string
		for kind := range p.Numbers {
			kinds = append(kinds, kind)
		}
		slices.Sort(kinds)
		for _, kind := range kinds {
			if kind == "marked" {
				facts = append(facts, "marked "+p.Numbers[kind])
			} else {
				facts = append(facts, p.Numbers[kind])
			}
		}
		if len(kinds) == 0 && p.Title != rec.Part {
			facts = append(facts, rec.Part)
		}
	} else if rec.Part != "" {
		facts = append(facts, rec.Part)
	}
	if rec.Lot != "" {
		facts = append(facts, "lot "+rec.Lot)
	}
	return strings.Join(append(facts, rec.State), ", ")
}

// misfit says why a part does not belong in a place, and what does.
func (s *sheet) misfit(id, slot, place string) string {
	for i := range s.A.Misfits {
		m := &s.A.Misfits[i]
		if m.Part != id || m.Slot != slot || m.Place != place {
			continue
		}
		says := "Does not fit here: " + strings.Join(words.MisfitReasons(m), "; ")
		if nearest := s.part(m.Nearest); nearest != nil {
			says += ". What fits is " + nearest.Title + ", " + nearest.Name
		}
		return says + "."
	}
	return ""
}

// alike names a part for another slot of the same kind that could be taken for this
// one, with the feature that tells them apart.
func (s *sheet) alike(id, slot string) string {
	p := s.part(id)
	if p == nil {
		return ""
	}
	if len(p.LooksLike) > 0 && p.Look != "" {
		if other := s.part(p.LooksLike[0]); other != nil {
			return "Looks like " + other.Title + " but is not: " + p.Look
		}
	}
	for _, other := range s.pack.Parts {
		if other == p || len(other.Has) == 0 || len(p.Has) == 0 || slices.Equal(other.Has, p.Has) || !sameKind(p, other) {
			continue
		}
		mine, theirs := without(p.Has, other.Has), without(other.Has, p.Has)
		if len(mine) == 0 && len(theirs) == 0 {
			continue
		}
		says := "Looks like " + other.Title + " but is not"
		if len(mine) > 0 {
			says += ": this one has " + featureWords(mine)
		}
		if len(theirs) > 0 {
			says += "; the other has " + featureWords(theirs)
		}
		return says
	}
	return ""
}

func featureWords(list []string) string {
	return strings.ReplaceAll(strings.Join(list, ", "), "_", " ")
}

// sameKind says whether two parts fill the same slot, or slots that differ only in the
// end of the engine they belong to.
func sameKind(a, b *pack.Part) bool {
	for _, x := range a.Fills {
		for _, y := range b.Fills {
			if x == y || stem(x) == stem(y) {
				return true
			}
		}
	}
	return false
}

var ends = map[string]bool{"front": true, "rear": true, "left": true, "right": true, "inlet": true, "exhaust": true, "upper": true, "lower": true}

func stem(slot string) string {
	var kept []string
	for _, word := range strings.Split(strings.TrimPrefix(slot, "slot."), "_") {
		if !ends[word] {
			kept = append(kept, word)
		}
	}
	return strings.Join(kept, "_")
}

func without(list, other []string) []string {
	var kept []string
	for _, x := range list {
		if !slices.Contains(other, x) {
			kept = append(kept, x)
		}
	}
	return kept
}

// holds gathers what must stand before the operation is done, with its verdict.
func (d *doView) holds() {
	for _, h := range d.Op.Holds {
		for i := range d.Sheet.A.Results {
			res := &d.Sheet.A.Results[i]
			if res.Kind != h.Kind || res.Name != h.Name || !slices.Contains(d.Sheet.reach(d.Op.At, d.Here.Place, d.Sheet.placeOf(res)), res.Place) {
				continue
			}
			line := holdLine{Result: words.ResultIn(res, d.System), Met: len(res.InTheWay()) == 0}
			for _, code := range res.InTheWay() {
				if dev := d.Sheet.accepted((&assess.Finding{Code: code, Of: res.Reference(), Place: res.Place}).ID()); dev != nil {
					line.Accepted, line.Met = dev, !d.Op.Never || !unknownCode(code)
				}
			}
			if res.Kind == "check" {
				line.Check = d.Sheet.check(res.Name)
				if !res.Passed && !res.Failed && line.Check != nil && len(line.Check.Pass) > 0 {
					d.YesToAll = append(d.YesToAll, strings.TrimSpace(res.Reference()+" "+res.Place))
				}
			}
			d.Holds = append(d.Holds, line)
		}
	}
}

func unknownCode(code string) bool {
	return code == assess.CodeCheckOpen || code == assess.CodeNotMeasured || code == assess.CodeStale || code == assess.CodeBlank || code == assess.CodeUndefined
}

// placeOf is where the pack puts a result's block.
func (s *sheet) placeOf(r *assess.Result) string {
	for _, d := range s.pack.Dimensions {
		if r.Kind == "dimension" && d.Name == r.Name {
			return d.At
		}
	}
	for _, c := range s.pack.Checks {
		if r.Kind == "check" && c.Name == r.Name {
			return c.At
		}
	}
	for _, n := range s.pack.Numbers {
		if r.Kind == "number" && n.Name == r.Name {
			return n.At
		}
	}
	for _, n := range s.pack.Sweeps {
		if r.Kind == "sweep" && n.Name == r.Name {
			return n.At
		}
	}
	return ""
}

// accepted is the newest deviation that names a finding.
func (s *sheet) accepted(id string) *journal.DeviationRecord {
	var found *journal.DeviationRecord
	for i := range s.State.Deviations {
		if s.State.Deviations[i].Finding == id {
			found = &s.State.Deviations[i]
		}
	}
	return found
}

func (d *doView) jointLine(j *assess.Joint) jointLine {
	line := jointLine{Joint: j, Address: wrenchPath(d.Sheet, j.Name, j.Place)}
	u, _ := words.UnitIn(j.Unit, 0, d.System)
	var stages []string
	for _, t := range j.Stages {
		if t > 0 {
			stages = append(stages, torqueFigure(t, u))
		}
	}
	line.How = strings.Join(stages, ", ")
	if line.How != "" {
		line.How += " " + u.Symbol
	}
	if on := threadState(j.Joint); on != "" {
		line.How += ", " + on
	}
	switch j.State {
	case "tight":
		line.Says = "tight"
	case "under way":
		line.Says = "under way"
	default:
		line.Says = "not begun"
	}
	return line
}

// source says where the figures of the operation's joints come from.
func (d *doView) source() string {
	var list []string
	for _, j := range d.Joints {
		if text := j.Joint.Joint.Sources["torque"]; text != "" && !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, "; ")
}

// earlierChoices are the guesses that one press makes.
var earlierChoices = []struct{ Value, Says string }{
	{"5 min", "5 min ago"}, {"20 min", "20 min ago"}, {"60 min", "an hour ago"}, {"120 min", "2 h ago"}, {"240 min", "4 h ago"}, {"1440 min", "yesterday"},
}

// clockField prints a time for a field of a form.
func clockField(t time.Time) string { return t.Format("15:04") }

// torqueFigure prints a torque as a scale shows it: whole where the scale is fine enough.
func torqueFigure(si float64, u quantity.Unit) string {
	x := u.In(si)
	switch {
	case x >= 20 || x == float64(int(x)):
		return quantity.FormatNumber(x, 0)
	default:
		return quantity.FormatNumber(x, 1)
	}
}
