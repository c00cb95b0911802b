package journal

// The words that a state or a phase may be.
const (
	Kept     = "kept"
	Wanted   = "wanted"
	Ordered  = "ordered"
	Received = "received"
	Fitted   = "fitted"
	Rejected = "rejected"
	Removed  = "removed"
	Sent     = "sent"
	Back     = "back"

	Done   = "done"
	Undone = "undone"

	Started = "started"
	Ended   = "ended"

	AsFound    = "as-found"
	AsMachined = "as-machined"
	AsBuilt    = "as-built"
)

var (
	partStates      = []string{Kept, Wanted, Ordered, Received, Fitted, Rejected, Removed, Sent, Back}
	operationStates = []string{Done, Undone}
	waitStates      = []string{Started, Ended}
	phases          = []string{AsFound, AsMachined, AsBuilt}
)

// Job opens a job, or changes what an earlier job event says of it.
type Job struct {
	Title, Pack, EngineNumber, Owner string
	// Assembled is true when the engine came in one piece: all spaces start closed.
	Assembled bool
	// AssembledGiven is true when the line states assembled, so that a false can
	// take an earlier true back.
	AssembledGiven bool
	// Room is the temperature of the room, for readings that state none.
	Room string
}

// Instrument registers a gauge or a wrench under a name.
type Instrument struct {
	Name, Class, Step, Uncertainty, Scale string
	// Calibrated is the date of the last calibration as written.
	Calibrated string
	// Min, Max, Graduation and Unit are those of a wrench. A bare JSON number in
	// one of the first three is kept as its text.
	Min, Max, Graduation, Unit string
	// Arm is the length of a wrench from grip to drive, Offset how far an adapter
	// that stays on it moves the nut off the drive, Angle how it is turned.
	Arm, Offset, Angle string
}

// Option chooses one of the choices of an option of the pack.
type Option struct{ Option, Choice string }

// Extra is a piece of pack text for this job only, and why it was needed.
type Extra struct{ Text, Why string }

// Reading is one measured value, as written, with its unit.
type Reading struct {
	Of, Place                                   string
	Cell                                        Cell
	Value, Instrument, Temperature, Phase, Note string
}

// Cell says which place of a reading plan a reading belongs to. N counts repeats
// from 1; 0 is not stated.
type Cell struct {
	Position, Axis string
	N              int
}

// Check is the answer to something looked at rather than measured.
type Check struct{ Of, Place, Answer, Note string }

// Strike takes back the event whose id it names; a strike of a strike restores.
type Strike struct{ Event, Why string }

// Part says what became of a part: kept, wanted, ordered, received, fitted,
// rejected, removed, sent or back.
type Part struct {
	Part, Slot, Place, State string
	Lot                      string
	// Sizes are those of the piece in hand, name to quantity text; nil for none.
	Sizes map[string]string
	// Price is money as written; To is who it went to, Due when it is promised and
	// Asked what was asked for.
	Price, To, Due, Asked string
	// Count is how many; 0 is not stated.
	Count int
	// From is who it came from, Why the reason it was rejected, removed or kept.
	From, Why string
}

// Operation says that an operation was done or taken back.
type Operation struct{ Operation, Place, State, Note string }

// Torque is one confirmed press of a torque pattern.
type Torque struct {
	Joint, Place string
	// Point is the fastener, from 1; 0 is not stated. All is true for the whole
	// pattern at once, and Point is then 0.
	Point int
	All   bool
	// Stage is the stage, or the step of a joint with steps, from 1; 0 is not
	// stated.
	Stage         int
	Value, Wrench string
}

// Wait says that the wait of an operation was started, or ended by a person.
type Wait struct{ Operation, Place, State string }

// Deviation accepts one finding, named by its id, with a reason.
type Deviation struct{ Finding, Why string }

// Approval is the owner's word for work or money.
type Approval struct{ What, Amount, Who string }

// Note is a remark, and what it is about where one thing is.
type Note struct{ Text, Of string }

// Photo names a photo by the SHA-256 of its content, 64 hexadecimal digits in
// lower case, and what it shows.
type Photo struct{ SHA256, Of string }

// Link points at something kept elsewhere.
type Link struct{ Address, Of string }

// TimeWorked is time spent, on an operation where one is named. Its kind is time.
type TimeWorked struct {
	Operation string
	// Minutes is not negative and finite.
	Minutes float64
}

// Cost is money spent.
type Cost struct{ What, Amount string }

// Addition is what is added after the job is closed.
type Addition struct{ Text string }

// Seal is a signature over all events before it, made when the job is closed.
// [SealMessage] is what is signed.
type Seal struct {
	// Events is how many events stand before it, and Head the hash that their chain
	// ends in, 64 hexadecimal digits.
	Events int
	Head   string
	// PackSum is the hash of the pack text, 64 hexadecimal digits; see [PackSum].
	PackSum string
	// Key is the public key, 64 hexadecimal digits, and Signature 128.
	Key, Signature string
}

// Estimate is one line of what the owner was told that the work would cost.
type Estimate struct{ What, Amount string }

// Mark is a moment worth finding again, like "camera on".
type Mark struct{ What string }

// Published is a sheet that was given away: what it is ("handout"), what it is of, the
// code of its revision, and the figures on it, one a line.
type Published struct{ What, Of, Place, Code, Figures string }

// Each visit names the fields of its body once, in the order in which they are
// written; the coder runs it to read a body and to write one, so the two cannot
// drift apart.

func (b *Job) visit(c *coder) {
	c.text(fieldTitle, &b.Title, optional)
	c.text(fieldPack, &b.Pack, optional)
	c.text(fieldEngineNumber, &b.EngineNumber, optional)
	c.text(fieldOwner, &b.Owner, optional)
	c.claim(fieldAssembled, &b.Assembled, &b.AssembledGiven)
	c.text(fieldRoom, &b.Room, optional)
}

func (b *Instrument) visit(c *coder) {
	c.text(fieldName, &b.Name, required)
	c.text(fieldClass, &b.Class, optional)
	c.text(fieldStep, &b.Step, optional)
	c.text(fieldUncertainty, &b.Uncertainty, optional)
	c.text(fieldScale, &b.Scale, optional)
	c.text(fieldCalibrated, &b.Calibrated, optional)
	c.figure(fieldMin, &b.Min, optional)
	c.figure(fieldMax, &b.Max, optional)
	c.figure(fieldGraduation, &b.Graduation, optional)
	c.text(fieldUnit, &b.Unit, optional)
	c.text(fieldArm, &b.Arm, optional)
	c.text(fieldOffset, &b.Offset, optional)
	c.text(fieldAngle, &b.Angle, optional)
}

func (b *Option) visit(c *coder) {
	c.text(fieldOption, &b.Option, required)
	c.text(fieldChoice, &b.Choice, required)
}

func (b *Extra) visit(c *coder) {
	c.text(fieldText, &b.Text, required)
	c.text(fieldWhy, &b.Why, optional)
}

func (b *Reading) visit(c *coder) {
	c.text(fieldOf, &b.Of, required)
	c.text(fieldPlace, &b.Place, optional)
	c.cell(fieldCell, &b.Cell)
	c.text(fieldValue, &b.Value, required)
	c.text(fieldInstrument, &b.Instrument, optional)
	c.text(fieldTemperature, &b.Temperature, optional)
	c.word(fieldPhase, &b.Phase, phases, optional)
	c.text(fieldNote, &b.Note, optional)
}

func (b *Check) visit(c *coder) {
	c.text(fieldOf, &b.Of, required)
	c.text(fieldPlace, &b.Place, optional)
	c.text(fieldAnswer, &b.Answer, required)
	c.text(fieldNote, &b.Note, optional)
}

func (b *Strike) visit(c *coder) {
	c.text(fieldEvent, &b.Event, required)
	c.text(fieldWhy, &b.Why, optional)
}

func (b *Part) visit(c *coder) {
	c.text(fieldPart, &b.Part, optional)
	c.text(fieldSlot, &b.Slot, optional)
	c.text(fieldPlace, &b.Place, optional)
	c.word(fieldState, &b.State, partStates, required)
	c.text(fieldLot, &b.Lot, optional)
	c.sizes(fieldSizes, &b.Sizes)
	c.figure(fieldPrice, &b.Price, optional)
	c.text(fieldTo, &b.To, optional)
	c.text(fieldDue, &b.Due, optional)
	c.text(fieldAsked, &b.Asked, optional)
	c.count(fieldCount, &b.Count)
	c.text(fieldFrom, &b.From, optional)
	c.text(fieldWhy, &b.Why, optional)
	c.insist(!blankText(b.Part) || !blankText(b.Slot), `the part event names neither a "part" nor a "slot"`)
}

func (b *Operation) visit(c *coder) {
	c.text(fieldOperation, &b.Operation, required)
	c.text(fieldPlace, &b.Place, optional)
	c.word(fieldState, &b.State, operationStates, required)
	c.text(fieldNote, &b.Note, optional)
}

func (b *Torque) visit(c *coder) {
	c.text(fieldJoint, &b.Joint, required)
	c.text(fieldPlace, &b.Place, optional)
	c.point(fieldPoint, &b.Point, &b.All)
	c.count(fieldStage, &b.Stage)
	c.text(fieldValue, &b.Value, optional)
	c.text(fieldWrench, &b.Wrench, optional)
}

func (b *Wait) visit(c *coder) {
	c.text(fieldOperation, &b.Operation, required)
	c.text(fieldPlace, &b.Place, optional)
	c.word(fieldState, &b.State, waitStates, required)
}

func (b *Deviation) visit(c *coder) {
	c.text(fieldFinding, &b.Finding, required)
	c.text(fieldWhy, &b.Why, required)
}

func (b *Approval) visit(c *coder) {
	c.text(fieldWhat, &b.What, required)
	c.figure(fieldAmount, &b.Amount, optional)
	c.text(fieldWho, &b.Who, optional)
}

func (b *Note) visit(c *coder) {
	c.text(fieldText, &b.Text, required)
	c.text(fieldOf, &b.Of, optional)
}

func (b *Photo) visit(c *coder) {
	c.digest(fieldSHA256, &b.SHA256)
	c.text(fieldOf, &b.Of, optional)
}

func (b *Link) visit(c *coder) {
	c.text(fieldAddress, &b.Address, required)
	c.text(fieldOf, &b.Of, optional)
}

func (b *TimeWorked) visit(c *coder) {
	c.text(fieldOperation, &b.Operation, optional)
	c.minutes(fieldMinutes, &b.Minutes)
}

func (b *Cost) visit(c *coder) {
	c.text(fieldWhat, &b.What, required)
	c.figure(fieldAmount, &b.Amount, required)
}

func (b *Addition) visit(c *coder) { c.text(fieldText, &b.Text, required) }

func (b *Seal) visit(c *coder) {
	c.count(fieldCount, &b.Events)
	c.digest(fieldSHA256, &b.Head)
	c.text(fieldPack, &b.PackSum, required)
	c.text(fieldKey, &b.Key, required)
	c.text(fieldSignature, &b.Signature, required)
}

func (b *Estimate) visit(c *coder) {
	c.text(fieldWhat, &b.What, required)
	c.figure(fieldAmount, &b.Amount, required)
}

func (b *Mark) visit(c *coder) { c.text(fieldWhat, &b.What, required) }

func (b *Published) visit(c *coder) {
	c.text(fieldWhat, &b.What, required)
	c.text(fieldOf, &b.Of, required)
	c.text(fieldPlace, &b.Place, optional)
	c.text(fieldValue, &b.Code, required)
	c.text(fieldText, &b.Figures, optional)
}
