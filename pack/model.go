package pack

import (
	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack/syntax"
	"buttonup/quantity"
)

// Mistake is something wrong in the text of a pack.
type Mistake = syntax.Mistake

// Mistakes is a list of them in the order of the source.
type Mistakes = syntax.Mistakes

// File is a text of a pack with its name.
type File = syntax.File

// Pack is a pack that has been read and checked. Slices keep the written order,
// a template's blocks first.
type Pack struct {
	Common
	Revision, Source string
	Units            quantity.System
	Sheet            [2]float64
	Extends          string
	Room             measure.Room
	// SHA256 is the hash of the text of every file read, in order.
	SHA256 string
	Files  []File

	Places      []*Place
	Options     []*Option
	Spaces      []*Space
	Dimensions  []*Dimension
	Checks      []*Check
	Instruments []*Instrument
	Numbers     []*Number
	Curves      []*Curve
	Sweeps      []*Sweep
	Joints      []*Joint
	Slots       []*Slot
	Parts       []*Part
	Offers      []*Offer
	Suppliers   []*Supplier
	Operations  []*Operation
	Temporaries []*Temporary
	Locks       []*Lock
	Cautions    []*Caution
	Metals      []*Metal

	// PlaceKinds are the places as formulas see them.
	PlaceKinds formula.Places
	// ToBeFilledIn lists the blanks that are still empty: "dimension.guide_bore new".
	ToBeFilledIn []string
	// Remarks are not mistakes; they tell what a reader may not expect.
	Remarks Mistakes

	blocks []*syntax.Block // merged, for Extend
}

// Common is what every block may say.
type Common struct {
	Name, Title, Note, Caution string
	// When is nil for a block that always stands.
	When *formula.Expr
	// Sources names where each figure comes from; Basis is "book", "part maker" or
	// "mine".
	Sources map[string]string
	Basis   string
	// Blank lists the attributes that are still to be filled in.
	Blank []string
	Span  syntax.Span

	block *syntax.Block
}

// IsBlank reports whether any of the named attributes is still to be filled in.
func (c *Common) IsBlank() bool { return len(c.Blank) > 0 }

// Place is what comes in several.
type Place struct {
	Common
	Kind formula.PlaceKind
}

// Option is chosen for a job.
type Option struct {
	Common
	Choices []string
	Default string
	Ask     string
	// Numeric options have quantities of one dimension as choices.
	Numeric   bool
	Dimension quantity.Dimension
	Values    []float64 // of numeric choices
}

// Space is a volume of the engine that gets closed.
type Space struct {
	Common
	At           string
	StartsClosed bool
	Outline      string
	Cover        string
	Label        []float64
	// OutlineOf and CoverOf are those of one member of its place, and go before Outline
	// and Cover there.
	OutlineOf, CoverOf map[string]string
}

// OutlineAt is the outline of a space at a member of its place, "" for none.
func (s *Space) OutlineAt(place string) string {
	if d, ok := s.OutlineOf[place]; ok {
		return d
	}
	return s.Outline
}

// LabelAt is where the name of a space stands, nil where nobody said or where the member
// has an outline of its own.
func (s *Space) LabelAt(place string) []float64 {
	if _, own := s.OutlineOf[place]; own || len(s.Label) != 2 {
		return nil
	}
	return s.Label
}

// CoverAt is the cover of a space at a member of its place, "" for none.
func (s *Space) CoverAt(place string) string {
	if d, ok := s.CoverOf[place]; ok {
		return d
	}
	return s.Cover
}

// Setting is a range that may depend on options and part sizes.
type Setting struct {
	Constant quantity.Range
	// Expression is nil for a constant.
	Expression *formula.RangeExpr
	Span       syntax.Span
}

// Scalar is a value that may depend on options and part sizes.
type Scalar struct {
	Constant  quantity.Value
	Unit      quantity.Unit
	Decimals  int
	Expr      *formula.Expr
	Span      syntax.Span
	Dimension quantity.Dimension
}

// Judging says which reading of a set is judged.
type Judging uint8

// The ways of judging. ByLimit is the default: the largest for an upper limit, the
// smallest for a lower one, both for a range, else the mean.
const (
	ByLimit Judging = iota
	ByLargest
	BySmallest
	ByMean
	BySpread
	ByEach
)

var judgings = map[string]Judging{"largest": ByLargest, "smallest": BySmallest, "mean": ByMean, "spread": BySpread, "each": ByEach}

// Dimension is something that is read from the part.
type Dimension struct {
	Common
	At         string
	Plan       measure.Plan
	With       string
	Step       float64
	Judge      Judging
	New, Limit *Setting
	GuardNew   bool
	Critical   bool
	Metal      string
	Expansion  quantity.Expansion
	HasMetal   bool
	// Dimension is what it is measured in, Unit and Decimals how it is shown;
	// Decimals is -1 where the pack does not say.
	Dimension quantity.Dimension
	Unit      quantity.Unit
	Decimals  int
}

// Check is something looked at rather than measured.
type Check struct {
	Common
	At            string
	Ask           string
	Answers, Pass []string
	Photo         bool
}

// Instrument is a class of instruments with what it is usually good for.
type Instrument struct {
	Common
	Step        float64
	Uncertainty float64
	Relative    float64
	Shared      float64
	Scale       quantity.Expansion
	Known       bool
	Dimension   quantity.Dimension
	// Seconds is how long one reading takes, 0 where nobody said.
	Seconds float64
}

// Number is computed.
type Number struct {
	Common
	At         string
	Value      *formula.Expr
	Unit       quantity.Unit
	HasUnit    bool
	New, Limit *Setting
	// Model is the stated model error, expanded.
	Model     float64
	GuardNew  bool
	Critical  bool
	Dimension quantity.Dimension
	// NonNegative is set where the formula cannot give less than zero.
	NonNegative bool
}

// Curve is a table of points.
type Curve struct {
	Common
	Table *formula.Table
}

// Sweep is a value searched for along a range of x.
type Sweep struct {
	Number
	Low, High float64
	Over      quantity.Range
	Largest   bool
}

// Joint is what is tightened.
type Joint struct {
	Common
	At                         string
	Thread, Hand, Grade        string
	Strength                   float64
	Length, Through, HoleDepth float64
	Engagement                 *Scalar
	Into                       string
	// IntoStrength is the tensile strength of what it is tapped into; 0 is not given.
	IntoStrength                              float64
	Torque                                    *Setting
	Target                                    *Scalar
	TorqueFor, State                          string
	Stages                                    *Stages
	Steps                                     []Step
	ConfirmPoint                              bool
	PointOfNoReturn                           int
	Friction, ThreadFriction, HeadFriction    *quantity.Range
	Head, Hole                                float64
	Socket, Drive                             string
	Points                                    [][2]float64
	Order                                     []int
	Retorque                                  string
	SingleUse                                 bool
	HasLength, HasThrough, HasHoleDepth, IsLH bool

	// unsure is set where a mistake leaves open how the joint is tightened.
	unsure bool
}

// Stages is a list of rising torques, or a choice between two such lists.
type Stages struct {
	Items      []*Scalar
	Test       *formula.Expr
	Then, Else *Stages
}

// Step is one step of a tightening that is not a plain list of stages.
type Step struct {
	Points  []int
	To      *Scalar
	Angle   float64
	Say     string
	BackOff bool
	Span    syntax.Span
}

// Slot is a place that a part fills.
type Slot struct {
	Common
	At            string
	AlwaysReplace bool
	OneUse        bool
	Needs         []string
	Sizes         map[string]quantity.Dimension
	// Member narrows it to the operations at one member of their place, "" for all: the
	// front gasket of two that are not alike goes on at the front.
	Member string
	// WornBy lists the results whose verdict says that what is in the slot is worn
	// out or broken.
	WornBy []Ref

	loose bool // its place has a mistake
}

// Part is something that fills slots.
type Part struct {
	Common
	Fills                []string
	Count                map[string]int
	Fits                 *formula.Expr
	FitsAt               string
	Families             []string
	Years                string
	Numbers              map[string]string
	Has, Needs, Excludes []string
	Sizes                map[string]quantity.Quantity
	// Bands are what a new piece may measure, for sizes that were given with a ± or as
	// a range; Sizes has the middle of those.
	Bands      map[string]quantity.Range
	Supersedes string
	Sheet      string
	// Engines is the range of engine numbers it is listed for, which is advice; Look
	// is what to look at to tell it, and LooksLike names the parts it is taken for.
	Engines, Look string
	LooksLike     []string
	// Either is set where one piece goes into any one of the slots, so that the part
	// is no kit.
	Either bool
}

// Offer is a part at a supplier.
type Offer struct {
	Common
	Part, Supplier, Number string
	Price                  string
	Currency               string
	Lead                   float64
	Pack                   int
}

// Supplier sells parts.
type Supplier struct {
	Common
	Shipping, FreeOver, Currency string
}

// Operation is a piece of work.
type Operation struct {
	Common
	At                string
	Needs             []string
	In, Closes, Opens []string
	Fits, Tightens    []string
	Uses              []string
	// Good says what it looks like when it is right, Mistakes what is often done
	// wrong and how that shows: for teaching.
	Good                string
	Mistakes            []string
	Pours               map[string]quantity.Quantity
	PutsIn, TakesOut    []string
	Holds               []Ref
	Wait                float64
	WaitsFor            string
	HasWait             bool
	Within              []Within
	Disturbs            []string
	Stays, Trial, Never bool
	Side, Fixture, Tool string
	Seconds             float64 // the time the work takes
	OffSeconds          float64 // the time to take it back
}

// Within is the longest time to the start of another operation.
type Within struct {
	Operation string
	Time      float64
}

// Ref names a block: number.preload, operation.close_cases.
type Ref struct {
	Kind, Name string
	Span       syntax.Span
}

// String returns KIND.NAME.
func (r Ref) String() string { return r.Kind + "." + r.Name }

// Temporary is something put in for a while that must come out again.
type Temporary struct {
	Common
	Count int
}

// Lock forbids operations while it stands.
type Lock struct {
	Common
	At      string
	From    []string
	Until   []Ref
	Forbids []string
}

// Caution is a warning beside operations.
type Caution struct {
	Common
	Text      string
	AppliesTo []string
}

// Metal is a metal that the pack adds.
type Metal struct {
	Common
	Expansion quantity.Expansion
}
