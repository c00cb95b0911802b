package journal

import "time"

// Stamp says which event a record comes from.
type Stamp struct {
	// Seq is the event's place in the order of the file, from 0, repeated
	// deliveries not counted. Of two records the one with the larger Seq is later.
	Seq int
	// At, By and Late are those of the event.
	At   time.Time
	By   string
	Late bool
	// Event is the id of the event and Line its line in the file, 0 for none.
	Event string
	Line  int
}

// The records of a state: a stamp and the body, whose fields stand side by side.
// Where a body has a field of its own name, the body is embedded under a second
// name, so that OperationRecord.Operation is the operation's name and not the body.
type (
	// OptionBody is Option, under the name that OptionRecord embeds.
	OptionBody = Option
	// PartBody is Part, under the name that PartRecord embeds.
	PartBody = Part
	// OperationBody is Operation, under the name that OperationRecord embeds.
	OperationBody = Operation

	// JobRecord is what all unstruck job events say together: of each field, the
	// newest that is not empty. Its Stamp is that of the newest, Opened that of the
	// first.
	JobRecord struct {
		Stamp
		Job
		Opened Stamp
	}
	// InstrumentRecord is a registered gauge or wrench.
	InstrumentRecord struct {
		Stamp
		Instrument
	}
	// OptionRecord is a choice made.
	OptionRecord struct {
		Stamp
		OptionBody
	}
	// ExtraRecord is a piece of pack text for this job.
	ExtraRecord struct {
		Stamp
		Extra
	}
	// ReadingRecord is one reading.
	ReadingRecord struct {
		Stamp
		Reading
	}
	// CheckRecord is one answer.
	CheckRecord struct {
		Stamp
		Check
	}
	// PartRecord is one step in the life of a part.
	PartRecord struct {
		Stamp
		PartBody
	}
	// OperationRecord is one doing or taking back.
	OperationRecord struct {
		Stamp
		OperationBody
	}
	// TorqueRecord is one confirmed press of a torque pattern.
	TorqueRecord struct {
		Stamp
		Torque
	}
	// WaitRecord is the start or the end of a wait.
	WaitRecord struct {
		Stamp
		Wait
	}
	// DeviationRecord is one accepted finding.
	DeviationRecord struct {
		Stamp
		Deviation
	}
	// ApprovalRecord is one approval.
	ApprovalRecord struct {
		Stamp
		Approval
	}
	// NoteRecord is one remark.
	NoteRecord struct {
		Stamp
		Note
	}
	// PhotoRecord is one photo.
	PhotoRecord struct {
		Stamp
		Photo
	}
	// LinkRecord is one link.
	LinkRecord struct {
		Stamp
		Link
	}
	// TimeRecord is time worked.
	TimeRecord struct {
		Stamp
		TimeWorked
	}
	// CostRecord is money spent.
	CostRecord struct {
		Stamp
		Cost
	}
	// AdditionRecord is one addition after closing.
	AdditionRecord struct {
		Stamp
		Addition
	}
	// SealRecord is one signature.
	SealRecord struct {
		Stamp
		Seal
	}
	// EstimateRecord is one line of an estimate.
	EstimateRecord struct {
		Stamp
		Estimate
	}
	// MarkRecord is one mark in time.
	MarkRecord struct {
		Stamp
		Mark
	}
	// PublishedRecord is one sheet that was given away.
	PublishedRecord struct {
		Stamp
		Published
	}
	// StruckRecord is an event that was struck and stays readable: its stamp, kind
	// and body, and the strike that stands against it. Of several, that is the
	// first. A strike that was struck itself is one too.
	StruckRecord struct {
		Stamp
		Kind   Kind
		Body   any
		Why    string
		Strike Stamp
	}
)

// State is what a journal says in the end: strikes applied, repeated deliveries
// counted once, everything in the order of the file.
type State struct {
	// Job is nil when no job event stands.
	Job *JobRecord
	// Instruments and Options hold the newest of each name; InstrumentOrder names
	// the instruments in the order in which they were first registered.
	Instruments     map[string]InstrumentRecord
	InstrumentOrder []string
	Options         map[string]OptionRecord
	Extras          []ExtraRecord
	Readings        []ReadingRecord
	Checks          []CheckRecord
	Parts           []PartRecord
	Operations      []OperationRecord
	Torques         []TorqueRecord
	Waits           []WaitRecord
	Deviations      []DeviationRecord
	Approvals       []ApprovalRecord
	Notes           []NoteRecord
	Photos          []PhotoRecord
	Links           []LinkRecord
	Times           []TimeRecord
	Costs           []CostRecord
	Additions       []AdditionRecord
	Seals           []SealRecord
	Estimates       []EstimateRecord
	Marks           []MarkRecord
	Published       []PublishedRecord
	// Struck is what was struck, in the order in which it was written.
	Struck []StruckRecord
	// Problems are those of reading and of folding, in the order of their lines.
	Problems []Problem
	// Chained is that of the journal.
	Chained bool
	// Events is how many events there are, strikes and struck ones among them,
	// repeated deliveries and what was set aside not.
	Events int
	// Last is the latest time of any of them, zero for none.
	Last time.Time
}
