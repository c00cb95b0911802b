package words

import (
	"math"
	"time"

	"buttonup/assess"
	"buttonup/formula"
	"buttonup/measure"
	"buttonup/quantity"
)

// Report is an assessment as scripts read it. Fields are added and never renamed or
// dropped; see the contract in docs/cli.md.
type Report struct {
	Pack         PackReport      `json:"pack"`
	Job          JobReport       `json:"job"`
	Results      []ResultReport  `json:"results"`
	Joints       []JointReport   `json:"joints"`
	Spaces       []SpaceReport   `json:"spaces"`
	Next         []string        `json:"next"`
	Blocked      []BlockedReport `json:"blocked"`
	Waits        []WaitReport    `json:"waits"`
	Locks        []LockReport    `json:"locks"`
	Parts        PartsReport     `json:"parts"`
	Findings     []FindingReport `json:"findings"`
	ToBeFilledIn []string        `json:"to_be_filled_in"`
	// Where is the exact point at which the work stands, in one sentence.
	Where   string `json:"where,omitempty"`
	Chained bool   `json:"chained"`
	Events  int    `json:"events"`
	Stops   int    `json:"stops"`
	// WhatIf is there only where something was supposed.
	WhatIf *WhatIfReport `json:"what_if,omitempty"`
}

// PackReport names the pack.
type PackReport struct {
	ID       string `json:"id"`
	Title    string `json:"title"`
	Revision string `json:"revision"`
	SHA256   string `json:"sha256"`
}

// JobReport is what the journal says of the job.
type JobReport struct {
	Title        string `json:"title,omitempty"`
	Pack         string `json:"pack,omitempty"`
	EngineNumber string `json:"engine_number,omitempty"`
	Owner        string `json:"owner,omitempty"`
	Assembled    bool   `json:"assembled,omitempty"`
	Room         string `json:"room,omitempty"`
}

// Figure is a value in SI and as it is printed.
type Figure struct {
	SI   float64 `json:"si"`
	Unit string  `json:"unit,omitempty"`
	Text string  `json:"text"`
}

// DriverReport is a share of a result's variance.
type DriverReport struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"`
}

// ResultReport is one dimension, number, sweep or check at one place.
type ResultReport struct {
	Name     string         `json:"name"`
	Kind     string         `json:"kind"`
	Place    string         `json:"place,omitempty"`
	Title    string         `json:"title"`
	Value    *Figure        `json:"value,omitempty"`
	Expanded *Figure        `json:"expanded,omitempty"`
	Verdict  string         `json:"verdict"`
	Says     string         `json:"says"`
	New      string         `json:"new,omitempty"`
	Limit    string         `json:"limit,omitempty"`
	Margin   *Figure        `json:"margin,omitempty"`
	WearUsed *float64       `json:"wear_used,omitempty"`
	Drivers  []DriverReport `json:"drivers,omitempty"`
	// Instruments say what the ± comes from by the instrument that answers; Method and
	// Reason how it was found. Low and High are the ends that a value is judged by where
	// they do not lie evenly about it.
	Instruments []DriverReport    `json:"instruments,omitempty"`
	Method      string            `json:"method,omitempty"`
	Reason      string            `json:"reason,omitempty"`
	Low         *Figure           `json:"low,omitempty"`
	High        *Figure           `json:"high,omitempty"`
	Settle      *SettleReport     `json:"settle,omitempty"`
	Missing     []string          `json:"missing,omitempty"`
	Blank       []string          `json:"blank,omitempty"`
	Readings    int               `json:"readings,omitempty"`
	At          map[string]Figure `json:"at,omitempty"`
	Answer      string            `json:"answer,omitempty"`
	Supposed    bool              `json:"supposed,omitempty"`
	Late        bool              `json:"late,omitempty"`
	Recheck     string            `json:"recheck,omitempty"`
	// RecheckBecause says why Recheck names an operation.
	RecheckBecause string `json:"recheck_because,omitempty"`
	Source         string `json:"source,omitempty"`
	Basis          string `json:"basis,omitempty"`
}

// JointReport is how far a joint is tightened.
type JointReport struct {
	Name   string   `json:"name"`
	Place  string   `json:"place,omitempty"`
	Title  string   `json:"title"`
	Thread string   `json:"thread"`
	Torque string   `json:"torque,omitempty"`
	Target string   `json:"target,omitempty"`
	Stages []string `json:"stages,omitempty"`
	Done   []int    `json:"done,omitempty"`
	Points int      `json:"points"`
	State  string   `json:"state"`
	Last   string   `json:"last,omitempty"`
}

// SpaceReport is a volume of the engine.
type SpaceReport struct {
	Name       string   `json:"name"`
	Place      string   `json:"place,omitempty"`
	Title      string   `json:"title"`
	State      string   `json:"state"`
	Unfinished []string `json:"unfinished"`
}

// BlockedReport is an operation that cannot be done now.
type BlockedReport struct {
	Operation string   `json:"operation"`
	Because   []string `json:"because"`
}

// WaitReport is a wait that is not over.
type WaitReport struct {
	Operation string `json:"operation"`
	For       string `json:"for,omitempty"`
	Since     string `json:"since,omitempty"`
	Due       string `json:"due,omitempty"`
	Says      string `json:"says"`
}

// LockReport is a lock that stands.
type LockReport struct {
	Name  string   `json:"name"`
	Place string   `json:"place,omitempty"`
	Says  string   `json:"says"`
	Until []string `json:"until"`
}

// PartsReport tells what is missing and what does not fit.
type PartsReport struct {
	Missing []string       `json:"missing"`
	Misfits []MisfitReport `json:"misfits"`
}

// MisfitReport is a part that does not fit its slot.
type MisfitReport struct {
	Slot    string   `json:"slot"`
	Part    string   `json:"part"`
	Because []string `json:"because"`
}

// FindingReport is a finding in words.
type FindingReport struct {
	ID       string   `json:"id"`
	Code     string   `json:"code"`
	Severity string   `json:"severity"`
	Says     string   `json:"says"`
	Because  []string `json:"because"`
	Do       string   `json:"do"`
	Of       string   `json:"of"`
	Place    string   `json:"place"`
	Line     int      `json:"line,omitempty"`
	Accepted string   `json:"accepted,omitempty"`
}

// Make turns an assessment into a report.
func Make(a *assess.Assessment) *Report {
	r := &Report{
		Pack:    PackReport{a.Pack.Name, a.Pack.Title, a.Pack.Revision, a.Pack.SHA256},
		Results: make([]ResultReport, 0, len(a.Results)), Joints: []JointReport{}, Spaces: []SpaceReport{}, Next: []string{},
		Blocked: []BlockedReport{}, Waits: []WaitReport{}, Locks: []LockReport{}, Findings: make([]FindingReport, 0, len(a.Findings)),
		Parts:        PartsReport{Missing: []string{}, Misfits: []MisfitReport{}},
		ToBeFilledIn: append([]string{}, a.Pack.ToBeFilledIn...), Stops: a.Stops(), Where: WhereWasI(a), Chained: a.Chained, Events: a.Events,
	}
	if j := a.Job; j != nil {
		r.Job = JobReport{j.Title, j.Job.Pack, j.EngineNumber, j.Owner, j.Assembled, j.Room}
	}
	for i := range a.Results {
		r.Results = append(r.Results, result(&a.Results[i]))
	}
	for i := range a.Joints {
		r.Joints = append(r.Joints, joint(&a.Joints[i]))
	}
	for _, s := range a.Spaces {
		out := SpaceReport{s.Name, s.Place, s.Title, "open", []string{}}
		if s.Closed {
			out.State = "closed"
		}
		for _, o := range s.Unfinished {
			out.Unfinished = append(out.Unfinished, o.String())
		}
		r.Spaces = append(r.Spaces, out)
	}
	for _, o := range a.Next {
		r.Next = append(r.Next, o.String())
	}
	for _, b := range a.Blocked {
		r.Blocked = append(r.Blocked, BlockedReport{b.Operation.String(), Reasons(b.Because)})
	}
	for i := range a.Waits {
		w := &a.Waits[i]
		r.Waits = append(r.Waits, WaitReport{w.Operation.String(), w.For, stamp(w.Since), stamp(w.Due), Wait(w, a.Now)})
	}
	for _, l := range a.Locks {
		r.Locks = append(r.Locks, LockReport{l.Name, l.Place, l.Title, append([]string{}, l.Until...)})
	}
	for _, s := range a.Missing {
		r.Parts.Missing = append(r.Parts.Missing, reference("slot."+s.Name, s.Place))
	}
	for i := range a.Misfits {
		m := &a.Misfits[i]
		r.Parts.Misfits = append(r.Parts.Misfits, MisfitReport{reference("slot."+m.Slot, m.Place), m.Part, MisfitReasons(m)})
	}
	for i := range a.Findings {
		r.Findings = append(r.Findings, finding(&a.Findings[i]))
	}
	return r
}

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.RFC3339)
}

func reference(name, place string) string {
	if place == "" {
		return name
	}
	return name + " " + place
}

func result(r *assess.Result) ResultReport {
	out := ResultReport{Name: r.Name, Kind: r.Kind, Place: r.Place, Title: r.Title, Verdict: r.Verdict.String(), Says: Verdict(r),
		New: Range(r, r.New), Limit: Range(r, r.Limit), Missing: r.Missing, Blank: r.Blank, Readings: r.Readings,
		Answer: r.Answer, Supposed: r.Supposed, Late: r.Late, Source: r.Source, Basis: r.Basis}
	if r.Kind == "check" {
		switch {
		case r.Passed:
			out.Verdict = "passed"
		case r.Failed:
			out.Verdict = "failed"
		default:
			out.Verdict = measure.NotMeasured.String()
		}
		return out
	}
	if r.HasValue {
		out.Value = &Figure{r.Value, r.Unit.Symbol, Value(r)}
		out.Expanded = &Figure{SI: r.Expanded, Text: Expanded(r)}
		if r.HasMargin {
			out.Margin = &Figure{SI: r.Margin, Text: Margin(r)}
		}
	}
	if r.HasWearUsed && r.Verdict != measure.NotMeasured {
		used := r.WearUsed
		out.WearUsed = &used
	}
	for _, d := range r.Drivers {
		out.Drivers = append(out.Drivers, DriverReport{d.Name, d.Share})
	}
	for _, d := range r.Instruments {
		out.Instruments = append(out.Instruments, DriverReport{d.Name, d.Share})
	}
	if r.HasValue && r.Method != formula.Chosen {
		out.Method, out.Reason = r.Method.String(), r.Because.String()
	}
	if r.HasValue && r.Method == formula.ByMonteCarlo {
		end := func(x float64) *Figure { return &Figure{x, r.Unit.Symbol, r.Unit.Text(x, r.Decimals)} }
		out.Low, out.High = end(r.Value-r.Below), end(r.Value+r.Above)
	}
	out.Settle = settleReport(r)
	if r.HasAt {
		out.At = map[string]Figure{"x": {r.At, r.AtUnit.Symbol, r.AtUnit.Text(r.At, 1)}}
	}
	if r.Stale != nil {
		out.Recheck, out.RecheckBecause = r.Stale.String(), r.Stale.String()+" disturbed it and was done after the last reading"
	} else if r.Recheck != nil {
		out.Recheck, out.RecheckBecause = r.Recheck.Operation.String(), changedSince(r.Recheck)
	}
	return out
}

func joint(j *assess.Joint) JointReport {
	out := JointReport{Name: j.Name, Place: j.Place, Title: j.Title, Thread: j.Joint.Thread, Points: j.Points, State: j.State, Done: j.Done}
	if j.Torque.Bounded() {
		out.Torque = j.Torque.Text()
	}
	d := max(j.Torque.Decimals, 0)
	if j.Target.SI != 0 {
		out.Target = j.Unit.Text(j.Target.SI, max(d, j.Joint.Target.Decimals))
	}
	for i, s := range j.Stages {
		text := ""
		if s != 0 {
			text = j.Unit.Text(s, max(d, stageDecimals(j.Unit, s)))
		}
		if len(j.Joint.Steps) > i {
			text = stepText(j, i, text)
		}
		out.Stages = append(out.Stages, text)
	}
	if j.Last != 0 {
		out.Last = j.Unit.Text(j.Last, max(d, 1))
	}
	return out
}

// stageDecimals shows a whole number of the joint's unit as one.
func stageDecimals(u quantity.Unit, si float64) int {
	x := u.In(si)
	if r := float64(int(x + 0.5)); math.Abs(x-r) < 1e-6*math.Abs(x) {
		return 0
	}
	return 1
}

func stepText(j *assess.Joint, i int, torque string) string {
	s := j.Joint.Steps[i]
	text := torque
	if s.Angle != 0 {
		deg := quantity.MustUnit("deg")
		if text != "" {
			text += ", then "
		}
		text += deg.Text(s.Angle, 0)
	}
	if s.BackOff {
		text = orElse(text, "back off")
		if torque != "" {
			text = "back off to " + torque
		}
	}
	if s.Say != "" {
		text = orElse(text, s.Say)
	}
	return text
}

func finding(f *assess.Finding) FindingReport {
	s := Finding(f)
	out := FindingReport{ID: f.ID(), Code: f.Code, Severity: f.Severity.String(), Says: s.Says, Because: append([]string{}, s.Because...), Do: s.Do, Of: f.Of, Place: f.Place, Line: f.Line}
	if f.Accepted != nil {
		out.Accepted = f.Accepted.Why
	}
	return out
}
