package web

import (
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/mechanics/joint"
	"buttonup/quantity"
	"buttonup/words"
)

// wrenchView is what a person sees with the wrench in hand.
type wrenchView struct {
	view
	J       *assess.Joint
	Passes  []pass
	At      int // the pass that is next, from 0; len(Passes) when all are done
	Wrench  *journal.InstrumentRecord
	Choices []wrenchChoice
	Set     setting
	State   string
	// Press is what the big button writes, Presses what it says.
	Press   *journal.Torque
	Presses string
	Then    string
	// Last is the newest press, which can be struck.
	Last      *journal.TorqueRecord
	LastSays  string
	Op        assess.Operation
	OpTitle   string
	Cautions  []string
	InTheWay  []string
	Closes    []*assess.Space
	Unchecked unchecked
}

// pass is one time round the pattern: a stage or a step.
type pass struct {
	Number  int
	Torque  float64 // 0 where a step is an angle
	Angle   float64
	BackOff bool
	Say     string
	Order   []int // fasteners, from 1, in the order in which they are tightened
	Done    map[int]bool
	Figure  string // in the unit of the wrench
	Other   string
}

func (p *pass) complete() bool {
	for _, n := range p.Order {
		if !p.Done[n] {
			return false
		}
	}
	return true
}

// next is the fastener that comes next, 0 for none.
func (p *pass) next() int {
	for _, n := range p.Order {
		if !p.Done[n] {
			return n
		}
	}
	return 0
}

type wrenchChoice struct {
	Name, Says string
	Chosen     bool
	Address    string
}

// setting is what stands on the wrench for one pass.
type setting struct {
	Figure, Unit, Other string
	// Adapter says the correction that is in the figure; Warning what is wrong with
	// this wrench for this torque.
	Adapter, Warning string
	// Value is what the fastener gets, as it is written into the journal.
	Value string
}

const cookieWrench = "buttonup_wrench"

// wrench shows one pass of a joint. What is done so far comes from the journal alone.
func (s *Server) wrench(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	j := sh.joint(r.PathValue("joint"), r.PathValue("place"))
	if j == nil {
		s.trouble(w, r, notFound("The pack of this job has no joint of that name at that place."))
		return
	}
	if len(j.Stages) == 0 || !j.Torque.Bounded() && j.Target.SI == 0 && j.Stages[len(j.Stages)-1] == 0 {
		s.trouble(w, r, notFound("No torque is known for "+words.Title(j.Title, j.Place)+": it is not tightened by the wrench, or its figure is still to be filled in."))
		return
	}
	v := &wrenchView{view: s.view(r, "job", sh), J: j, State: threadState(j.Joint)}
	v.Title = words.Title(j.Title, j.Place)
	v.Also = []string{"act.css", "act.js"}
	v.operation()
	v.passes()
	chosen := r.URL.Query().Get("wrench")
	if chosen != "" {
		http.SetCookie(w, &http.Cookie{Name: cookieWrench, Value: cookieText(chosen), Path: "/", MaxAge: 400 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true})
	} else if c, err := r.Cookie(cookieWrench); err == nil {
		chosen = fromCookie(c.Value)
	}
	v.choose(chosen, r.URL.Query().Get("wrench") != "")
	v.press()
	v.Unchecked, _ = sh.unchecked("joint."+j.Name, &j.Joint.Common)
	s.show(w, r, http.StatusOK, wrenchPage(v))
}

// operation finds what the joint is tightened for.
func (v *wrenchView) operation() {
	sh := v.Sheet
	for _, op := range sh.pack.Operations {
		if !slices.ContainsFunc(op.Tightens, func(x string) bool { return strings.TrimPrefix(x, "joint.") == v.J.Name }) {
			continue
		}
		for _, place := range members(sh.pack.Pack, op.At) {
			here := assess.Operation{Name: op.Name, Place: place}
			if !slices.Contains(sh.reach(op.At, place, v.J.Joint.At), v.J.Place) {
				continue
			}
			// The one that can be done now goes before one that cannot.
			if v.Op.Name != "" && !slices.Contains(sh.A.Next, here) {
				continue
			}
			v.Op, v.OpTitle = here, words.Operation(sh.pack.Pack, here)
			v.Closes = sh.closes(op, place)
			v.InTheWay = nil
			for _, says := range words.ReasonsIn(sh.pack.Pack, sh.because(here), v.System) {
				v.InTheWay = append(v.InTheWay, words.Upper(says))
			}
		}
	}
	for _, text := range []string{v.J.Joint.Caution} {
		if text != "" {
			v.Cautions = append(v.Cautions, text)
		}
	}
}

// passes lays out the stages with what is recorded of each.
func (v *wrenchView) passes() {
	j := v.J
	all := j.Joint.Order
	if len(all) == 0 {
		for i := range j.Points {
			all = append(all, i+1)
		}
	}
	for i, t := range j.Stages {
		p := pass{Number: i + 1, Torque: t, Order: all, Done: map[int]bool{}}
		if len(j.Joint.Steps) > 0 {
			step := j.Joint.Steps[i]
			p.Angle, p.BackOff, p.Say = step.Angle, step.BackOff, step.Say
			if len(step.Points) > 0 {
				p.Order = step.Points
			}
		}
		v.Passes = append(v.Passes, p)
	}
	for _, rec := range j.Passes {
		stage := rec.Stage
		if stage == 0 {
			stage = len(v.Passes)
		}
		if stage > len(v.Passes) {
			continue
		}
		p := &v.Passes[stage-1]
		if rec.All || rec.Point == 0 {
			for _, n := range p.Order {
				p.Done[n] = true
			}
		} else {
			p.Done[rec.Point] = true
		}
		v.Last = rec
	}
	for i := range v.Passes {
		if v.Passes[i].complete() {
			v.At = i + 1
		}
	}
}

// isWrench says whether an instrument tightens.
func isWrench(rec *journal.InstrumentRecord) bool {
	if rec.Unit != "" || rec.Max != "" {
		for _, text := range []string{rec.Unit, rec.Max} {
			if u, err := quantity.ParseUnit(text); err == nil && u.Dimension == quantity.OfTorque {
				return true
			}
			if q, err := quantity.Parse(text); err == nil && q.Dimension == quantity.OfTorque {
				return true
			}
		}
	}
	return strings.Contains(strings.ToLower(rec.Class), "torque")
}

// wrenchScale reads the scale of a wrench: its unit and, where they are known, its ends
// and graduation.
func wrenchScale(rec *journal.InstrumentRecord) (u quantity.Unit, low, high, graduation float64) {
	unit, err := quantity.ParseUnit(rec.Unit)
	known := err == nil && unit.Dimension == quantity.OfTorque
	read := func(text string) float64 {
		q, err := quantity.Parse(text)
		if err == nil && q.Dimension.IsNumber() && known {
			q, err = quantity.Parse(text + " " + unit.Symbol)
		}
		if err != nil || q.Dimension != quantity.OfTorque {
			return 0
		}
		if !known {
			unit, known = q.Unit, true
		}
		return q.SI
	}
	low, high, graduation = read(rec.Min), read(rec.Max), read(rec.Graduation)
	if graduation == 0 {
		graduation = read(rec.Step)
	}
	if !known {
		unit = quantity.Unit{}
	}
	return unit, low, high, graduation
}

// choose finds the wrench in hand: the one asked for, else that of the last press of
// this joint, else the one this device had last, else one whose scale holds the torque.
func (v *wrenchView) choose(name string, asked bool) {
	state := v.Sheet.State
	torque := v.torque()
	if v.Last != nil && v.Last.Wrench != "" && !asked {
		name = v.Last.Wrench
	}
	holds := func(rec *journal.InstrumentRecord) bool {
		_, low, high, _ := wrenchScale(rec)
		return high > 0 && torque >= low && torque <= high
	}
	var fits *journal.InstrumentRecord
	for _, n := range state.InstrumentOrder {
		rec := state.Instruments[n]
		if !isWrench(&rec) {
			continue
		}
		if n == name {
			v.Wrench = &rec
		}
		if fits == nil && holds(&rec) {
			fits = &rec
		}
	}
	if v.Wrench != nil && !asked && (v.Last == nil || v.Last.Wrench != name) && !holds(v.Wrench) && fits != nil {
		v.Wrench = nil
	}
	if v.Wrench == nil {
		v.Wrench = fits
	}
	here := wrenchPath(v.Sheet, v.J.Name, v.J.Place)
	for _, n := range state.InstrumentOrder {
		rec := state.Instruments[n]
		if !isWrench(&rec) {
			continue
		}
		says := ""
		if u, low, high, _ := wrenchScale(&rec); high > 0 {
			says = strings.TrimSpace(quantity.FormatNumber(u.In(low), 0) + " to " + quantity.FormatNumber(u.In(high), 0) + " " + u.Symbol)
		}
		if rec.Offset != "" {
			says += ", adapter " + rec.Offset
		}
		v.Choices = append(v.Choices, wrenchChoice{Name: n, Says: says, Chosen: v.Wrench != nil && v.Wrench.Name == n, Address: query(here, "wrench", n)})
	}
}

// torque is that of the pass that is next, or of the last.
func (v *wrenchView) torque() float64 {
	at := min(v.At, len(v.Passes)-1)
	if t := v.Passes[at].Torque; t > 0 {
		return t
	}
	return v.J.Target.SI
}

// unit is that of the wrench in hand, else that in which the shop reads such a torque.
func (v *wrenchView) unit() quantity.Unit {
	if v.Wrench != nil {
		if u, _, _, _ := wrenchScale(v.Wrench); u.Symbol != "" {
			return u
		}
	}
	return torqueUnit(v.System, v.J)
}

// torqueUnit is the unit of a shop for a joint: small ones in inch-pounds, as the tools
// for them are marked.
func torqueUnit(s quantity.System, j *assess.Joint) quantity.Unit {
	u, _ := words.UnitIn(j.Unit, 0, s)
	if s == quantity.Inch && j.Torque.HasHigh && j.Torque.High < smallTorque {
		return quantity.MustUnit("in-lb")
	}
	return u
}

// smallTorque is where a shop changes from a wrench in ft-lb to one in in-lb: 20 ft-lb,
// common practice, no published source.
const smallTorque = 27.1

// other is the unit that is shown small beside another.
func otherTorque(u quantity.Unit, si float64) quantity.Unit {
	if u.Symbol != "N·m" {
		return quantity.MustUnit("N·m")
	}
	if si < smallTorque {
		return quantity.MustUnit("in-lb")
	}
	return quantity.MustUnit("ft-lb")
}

// set works out what to set the wrench to for a torque at the fastener.
func (v *wrenchView) set(torque float64, last bool) setting {
	u := v.unit()
	out := setting{Unit: u.Symbol}
	onWrench, factor := torque, 1.0
	if v.Wrench != nil {
		if arm, offset, angle, ok := adapterOf(v.Wrench); ok {
			x, f, err := joint.AdapterSetting(quantity.Torque(torque), arm, offset, angle)
			if err != nil {
				out.Warning = words.Upper(err.Error())
			} else {
				onWrench, factor = float64(x), f
				out.Adapter = "The adapter is in this figure: " + torqueFigure(torque, u) + " " + u.Symbol + " at the nut, × " + quantity.FormatNumber(f, 3) + ". Pull at the middle of the grip."
			}
		}
		if _, low, high, graduation := wrenchScale(v.Wrench); high > low && graduation > 0 {
			m, err := joint.WrenchMark(quantity.Torque(onWrench), quantity.Torque(low), quantity.Torque(high), quantity.Torque(graduation))
			if err == nil {
				if m.Warning != joint.MarkGood {
					out.Warning = words.Upper(m.Warning.String())
				}
				applied := float64(m.Torque) / factor
				if m.Warning != joint.MarkAboveScale && m.Warning != joint.MarkBelowScale && (!last || v.within(applied)) {
					onWrench = float64(m.Torque)
				}
			}
		}
	}
	decimals := 0
	for decimals < 3 {
		shown := u.SI(mustRound(u.In(onWrench), decimals)) / factor
		if math.Abs(shown/torque-1) < 0.02 && (!last || v.within(shown)) {
			break
		}
		decimals++
	}
	out.Figure = quantity.FormatNumber(u.In(onWrench), decimals)
	applied := u.SI(mustRound(u.In(onWrench), decimals)) / factor
	o := otherTorque(u, torque)
	out.Other = torqueFigure(u.SI(mustRound(u.In(onWrench), decimals)), o) + " " + o.Symbol
	if factor == 1 {
		out.Value = out.Figure + " " + u.Symbol
	} else {
		out.Value = quantity.FormatNumber(u.In(applied), 2) + " " + u.Symbol
	}
	return out
}

func mustRound(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p) / p
}

// within says whether a torque lies in the range of the joint.
func (v *wrenchView) within(si float64) bool {
	t := v.J.Torque
	return (!t.HasLow || si >= t.Low*(1-1e-9)) && (!t.HasHigh || si <= t.High*(1+1e-9))
}

// adapterOf reads the adapter that stays on a wrench.
func adapterOf(rec *journal.InstrumentRecord) (arm, offset quantity.Length, angle quantity.Angle, ok bool) {
	a, errA := quantity.Parse(rec.Arm)
	o, errO := quantity.Parse(rec.Offset)
	if errA != nil || errO != nil || a.Dimension != quantity.OfLength || o.Dimension != quantity.OfLength {
		return 0, 0, 0, false
	}
	if t, err := quantity.Parse(rec.Angle); err == nil && t.Dimension == quantity.OfAngle {
		angle = quantity.Angle(t.SI)
	}
	return quantity.Length(a.SI), quantity.Length(o.SI), angle, true
}

// press says what the big button does.
func (v *wrenchView) press() {
	u := v.unit()
	for i := range v.Passes {
		p := &v.Passes[i]
		switch {
		case p.Torque > 0:
			o := otherTorque(u, p.Torque)
			p.Figure, p.Other = torqueFigure(p.Torque, u), torqueFigure(p.Torque, o)+" "+o.Symbol
		case p.BackOff:
			p.Figure = "off"
		}
		if p.Angle != 0 {
			p.Figure = quantity.FormatNumber(p.Angle*180/math.Pi, 0) + "°"
		}
	}
	if v.Last != nil {
		v.LastSays = pointWords(v.Last, v.J.Points) + ", pass " + strconv.Itoa(max(v.Last.Stage, 1)) + ", at " + words.Clock(v.Last.At)
	}
	if v.At >= len(v.Passes) {
		v.Set = v.set(v.torque(), true)
		return
	}
	p := &v.Passes[v.At]
	last := v.At == len(v.Passes)-1
	if p.Torque > 0 {
		v.Set = v.set(p.Torque, last)
	} else {
		v.Set = setting{Figure: p.Figure}
	}
	t := journal.Torque{Joint: v.J.Name, Place: v.J.Place, Stage: p.Number, Value: v.Set.Value}
	if v.Wrench != nil {
		t.Wrench = v.Wrench.Name
	}
	at := strings.TrimSpace(v.Set.Figure + " " + v.Set.Unit)
	if v.J.Joint.ConfirmPoint && len(p.Order) > 1 {
		t.Point = p.next()
		v.Presses = "number " + strconv.Itoa(slices.Index(p.Order, t.Point)+1) + " at " + at
		left := 0
		for _, n := range p.Order {
			if !p.Done[n] {
				left++
			}
		}
		v.Then = "then number " + strconv.Itoa(slices.Index(p.Order, p.after(t.Point))+1)
		if left == 1 {
			v.Then = v.thenPass(last)
		}
	} else {
		t.All = true
		v.Presses = allWords(len(p.Order)) + " at " + at
		v.Then = v.thenPass(last)
	}
	v.Press = &t
}

// after is the fastener that comes after one that is about to be done.
func (p *pass) after(n int) int {
	for _, x := range p.Order {
		if x != n && !p.Done[x] {
			return x
		}
	}
	return n
}

func (v *wrenchView) thenPass(last bool) string {
	if last {
		return "the last pass"
	}
	next := v.Passes[v.At+1]
	if next.Torque > 0 {
		return "then pass " + strconv.Itoa(next.Number) + " at " + next.Figure + " " + v.unit().Symbol
	}
	return "then pass " + strconv.Itoa(next.Number)
}

func allWords(n int) string {
	switch n {
	case 1:
		return "tightened"
	case 2:
		return "both"
	}
	names := []string{"three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n-3 < len(names) {
		return "all " + names[n-3]
	}
	return "all " + strconv.Itoa(n)
}

func pointWords(t *journal.TorqueRecord, points int) string {
	if t.All || t.Point == 0 {
		return allWords(points)
	}
	return "fastener " + strconv.Itoa(t.Point)
}

// cookieText keeps the name of a wrench in the letters that a cookie may hold.
func cookieText(name string) string {
	return query("", "w", name)
}

func fromCookie(text string) string {
	r, err := http.NewRequest("GET", "/"+text, nil)
	if err != nil {
		return ""
	}
	return r.URL.Query().Get("w")
}
