package assess

import (
	"time"

	"buttonup/formula"
	"buttonup/journal"
	"buttonup/measure"
	"buttonup/pack"
	"buttonup/parts"
	"buttonup/quantity"
)

// Assessment is everything that is concluded about a job.
type Assessment struct {
	Pack *pack.Pack
	Job  *journal.JobRecord
	// Now is the time the assessment was asked for, zero if it was not given.
	Now time.Time

	Results  []Result
	Joints   []Joint
	Spaces   []Space
	Next     []Operation // in the order of the pack; Advised gives it in that of the route
	Blocked  []Blocked
	Waits    []Wait
	Locks    []Lock
	Missing  []Slot
	Misfits  []Misfit
	Findings []Finding
	// Point is where the work stands.
	Point Point

	closings []Operation
	planning *planning

	// Events counts the events of the journal; Chained says that it carries a hash
	// chain, and that it holds.
	Events  int
	Chained bool
}

// Stops counts the findings that stop the job and are not accepted.
func (a *Assessment) Stops() int {
	n := 0
	for i := range a.Findings {
		if a.Findings[i].Severity == Stop && a.Findings[i].Accepted == nil {
			n++
		}
	}
	return n
}

// Result is one dimension, number, sweep or check at one place.
type Result struct {
	Kind  string // dimension, number, sweep, check
	Name  string
	Place string
	Title string

	// Value is in SI; it stands only if HasValue is set, and for an incomplete set
	// it is the value so far.
	Value    float64
	HasValue bool
	// Expanded is the ± with k = 2.
	Expanded float64
	// Method says how the ± was found, and Because why so; of a dimension it is always
	// first order. Where it was found by samples, the value is judged between its ends:
	// it may be smaller by Below and larger by Above.
	Method       formula.Method
	Because      formula.Reason
	Below, Above float64
	Unit         quantity.Unit
	Decimals     int
	// New and Limit are what the value was held against, as they stand for this
	// job.
	New, Limit quantity.Range
	measure.Judgement
	// Drivers say what the ± comes from, the largest share first: of a dimension by
	// kind, of a number by the dimension that was read. Instruments say it by the
	// instrument that answers.
	Drivers, Instruments []Driver
	// Settle says what would settle a verdict that is too close, nil for any other.
	Settle *Settle
	// Missing lists what a value waits for: cells of a set, or references.
	Missing []string
	// Undefined says why a formula has no value although nothing is missing.
	Undefined string
	// Blank lists what is still to be filled in, so that there is no verdict.
	Blank    []string
	Readings int
	// At is where a sweep found its value.
	At     float64
	HasAt  bool
	AtUnit quantity.Unit
	// Supposed marks a value from --set or what follows from one.
	Supposed bool
	// Late marks a value of which something was entered after the fact.
	Late bool
	// Stale is the operation that disturbed the readings, nil for none.
	Stale *Operation
	// Recheck says that an operation was done on the strength of the result and that
	// what it comes from was changed since, nil for none.
	Recheck *Recheck
	// Gauge is the instrument of the newest reading.
	Gauge    *measure.Gauge
	Critical bool
	// Answer is that of a check; Passed and Failed say what it means.
	Answer         string
	Passed, Failed bool
	Note           string
	// Source and Basis say where the limit comes from.
	Source, Basis string

	reference string // what Reference returns, made beforehand
}

// unmeasured reports whether a value is still to be read, in whole or in part: its
// verdict says so, or would if it had figures to be held against.
func (r *Result) unmeasured() bool {
	return r.Verdict == measure.NotMeasured || r.Verdict == measure.None && (!r.HasValue || len(r.Missing) > 0)
}

// Reference returns KIND.NAME.
func (r *Result) Reference() string {
	if r.reference != "" {
		return r.reference
	}
	return r.Kind + "." + r.Name
}

// Driver is a share of the variance of a result.
type Driver struct {
	Name  string
	Share float64
}

// Operation names an operation at a place.
type Operation struct{ Name, Place string }

// String returns operation.NAME or operation.NAME PLACE.
func (o Operation) String() string { return at("operation."+o.Name, o.Place) }

// at joins a reference and a place.
func at(reference, place string) string {
	if place == "" {
		return reference
	}
	return reference + " " + place
}

// ReasonKind says what keeps an operation from being done.
type ReasonKind uint8

// The reasons.
const (
	NeedsOperation ReasonKind = iota // another operation must be done first
	NeedsWait                        // the wait after another operation is not over
	NeedsOpen                        // a space that must be open is closed
	Unfinished                       // work inside what would be closed
	Temporary                        // something put in must come out first
	Hold                             // a held value is not there or not in limits
	Locked                           // a lock forbids it
	NeedsForGood                     // another operation is done for trial only
)

// Reason is one reason, with the reference of what stands in the way.
type Reason struct {
	Kind ReasonKind
	Of   string
	// Result is that of a hold.
	Result *Result
	// Says is what a wait is for, or a lock says.
	Says string
	// Count is how many pieces of a temporary are still in.
	Count int
}

// Blocked is an operation that cannot be done now, with all reasons.
type Blocked struct {
	Operation Operation
	Because   []Reason
}

// Space is a volume of the engine.
type Space struct {
	Name, Place, Title string
	Closed             bool
	Unfinished         []Operation
}

// Wait is a wait that is not over.
type Wait struct {
	Operation Operation
	For       string
	Since     time.Time
	Length    float64
	// Due is when the clock invites to look; zero without a time of start.
	Due time.Time
}

// Lock is a lock that stands.
type Lock struct {
	Name, Place, Title string
	Until              []string
	Forbids            []string
	since              int
}

// Slot is a slot that still wants a part.
type Slot struct {
	Name, Place, Title string
	AlwaysReplace      bool
}

// Misfit is a part that does not fit its slot.
type Misfit struct {
	Slot, Place, Part string
	State             string
	// Title is the title of the slot.
	Title   string
	Because []MisfitReason
	// Nearest is the part most like it that would fit, "" where none does.
	Nearest string
	// Also lists the other slots in which the same part does not fit for the same
	// reasons; in those Repeats is set, so that a reader is told once.
	Also    []Slot
	Repeats bool
}

// SizeOff is a size of a new piece that was measured outside its tolerance.
type SizeOff struct {
	Name     string
	Measured float64 // in SI
	Band     quantity.Range
}

// MisfitReason says why a part does not fit: what kind of reason and the names it
// is about.
type MisfitReason = parts.Reason

// Joint is what is known of a joint and how far it is tightened.
type Joint struct {
	Joint  *pack.Joint
	Name   string
	Place  string
	Title  string
	Torque quantity.Range
	Target quantity.Value
	// Stages are the torques of the stages or steps; 0 where a step has none.
	Stages []float64
	Unit   quantity.Unit
	// Done counts the passes recorded of each stage, whole patterns as all points.
	Done []int
	// Points is how many fasteners the joint has.
	Points int
	// State is "loose", "under way" or "tight".
	State string
	// Last is the newest recorded torque in SI, 0 for none.
	Last float64
	// Passes are the presses that count, in the order of the journal: those since what
	// the joint is tightened for was last taken back.
	Passes []*journal.TorqueRecord
}

// Severity says what a finding does to the job.
type Severity uint8

// The severities.
const (
	Note Severity = iota
	Attention
	Stop
)

var severityWords = [...]string{"note", "attention", "stop"}

// String returns the word for the severity.
func (s Severity) String() string { return severityWords[s] }

// Finding is something a person should know, with a stable code.
type Finding struct {
	Code     string
	Severity Severity
	// Of is the reference it is about and Place its place; Line is the journal line
	// of one that is about a line.
	Of, Place string
	Line      int
	Event     string
	Title     string
	// Result is what a finding about a value is about.
	Result *Result
	// Detail is a fragment made where the mistake was found, about text that
	// somebody wrote.
	Detail string
	Do     string
	// Reasons hold what stands in the way, for findings about order.
	Reasons   []Reason
	Operation Operation
	// Misfit is what a finding about a part is about, Sizes those of a new piece that
	// lie outside what the pack says of it.
	Misfit *Misfit
	Sizes  []SizeOff
	// Torque and Range are those of a joint's record that lies outside.
	Torque float64
	Range  quantity.Range
	Late   time.Duration
	// Accepted is the deviation that accepts the finding, nil for none.
	Accepted *journal.DeviationRecord
}

// ID returns the finding's id: its code, what it is of and where.
func (f *Finding) ID() string {
	id := f.Code
	if f.Of != "" {
		id += " " + f.Of
	}
	if f.Place != "" {
		id += " " + f.Place
	}
	return id
}

// The codes of findings; docs/findings.md says what each means. A code is never
// renamed and never used for something else.
const (
	CodeOutOfLimits      = "measure.out-of-limits"
	CodeTooClose         = "measure.too-close"
	CodeNotMeasured      = "measure.not-measured"
	CodeCoarseGauge      = "measure.coarse-gauge"
	CodeGaugeUnknown     = "measure.gauge-unknown"
	CodeOtherGauge       = "measure.other-gauge"
	CodeUndefined        = "measure.undefined"
	CodeBlank            = "measure.blank"
	CodeCheckFailed      = "check.failed"
	CodeCheckOpen        = "check.not-done"
	CodeStale            = "reading.stale"
	CodeChangedAfterHold = "reading.changed-after-hold"
	CodeReadingUnknown   = "reading.unknown-name"
	CodeReadingPlan      = "reading.beyond-plan"
	CodeReadingGauge     = "reading.unknown-instrument"
	CodeUnknownName      = "journal.unknown-name"
	CodeExtraMistake     = "extra.mistake"
	CodeClosedTooEarly   = "route.closed-too-early"
	CodeHoldPassed       = "route.hold-passed"
	CodeOutOfOrder       = "route.out-of-order"
	CodeTooLate          = "route.too-late"
	CodeTemporaryInside  = "route.temporary-inside"
	CodeLockBroken       = "route.lock-broken"
	CodeTorqueOutside    = "joint.torque-outside"
	CodeStageUnknown     = "joint.stage-unknown"
	CodeStageSkipped     = "joint.stage-skipped"
	CodePartMissing      = "parts.missing"
	CodePartMisfit       = "parts.misfit"
	CodePartSize         = "parts.off-size"
	CodeOptionOpen       = "option.not-chosen"
	CodeSupposedUnknown  = "supposed.unknown-name"
	CodeDeviationExpired = "deviation.expired"
)
