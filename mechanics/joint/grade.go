package joint

import (
	"strings"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Grade is what a bolt is made of, by the mark on its head: a property class of ISO
// 898-1 ("8.8") or a grade of SAE J429 ("SAE 8"). [ParseGrade] makes one. It may be
// compared with ==. The zero Grade is no grade.
type Grade struct {
	name   string
	metric bool
}

// String returns "8.8" or "SAE 8", as [ParseGrade] reads it; "no grade" for the zero
// Grade.
func (g Grade) String() string {
	switch {
	case g.name == "":
		return "no grade"
	case g.metric:
		return g.name
	}
	return "SAE " + g.name
}

// Strength is the least that a bolt of a grade and size must bear.
type Strength struct {
	// Proof is the stress that it must bear without a lasting set.
	Proof quantity.Pressure
	// Yield is the lower yield stress or 0.2 % proof stress.
	Yield quantity.Pressure
	// Tensile is the tensile strength.
	Tensile quantity.Pressure
}

// gradeRow is one line of a standard's table: sizes over above (or from above, for a
// first line) up to and with to, in mm or inches; stresses in MPa or ksi.
type gradeRow struct {
	name                  string
	above, to             float64
	proof, yield, tensile float64
}

// The sizes that ISO 898-1 and SAE J429 hold for.
const (
	smallestClass, largestClass = 1.6, 39 // mm
	smallestSAE, largestSAE     = 0.25, 1.5
)

// classRows is table 3 of ISO 898-1:2013: minimum values, in mm and MPa. For 4.8, 5.8
// and 6.8 the yield is the 0.0048·d proof stress of the whole screw.
var classRows = []gradeRow{
	{"4.6", 0, 39, 225, 240, 400},
	{"4.8", 0, 39, 310, 340, 420},
	{"5.6", 0, 39, 280, 300, 500},
	{"5.8", 0, 39, 380, 420, 520},
	{"6.8", 0, 39, 440, 480, 600},
	{"8.8", 0, 16, 580, 640, 800},
	{"8.8", 16, 39, 600, 660, 830},
	{"9.8", 0, 16, 650, 720, 900},
	{"10.9", 0, 39, 830, 940, 1040},
	{"12.9", 0, 39, 970, 1100, 1220},
}

// saeRows is table 1 of SAE J429, in inches and ksi.
var saeRows = []gradeRow{
	{"1", 0, 1.5, 33, 36, 60},
	{"2", 0, 0.75, 55, 57, 74},
	{"2", 0.75, 1.5, 33, 36, 60},
	{"5", 0, 1, 85, 92, 120},
	{"5", 1, 1.5, 74, 81, 105},
	{"8", 0, 1.5, 120, 130, 150},
}

const ksi quantity.Pressure = 6894757.293168362

// ParseGrade reads a property class (4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9, 12.9;
// "class 8.8" too) or a grade (SAE 1, SAE 2, SAE 5, SAE 8; "grade 8", "SAE J429
// grade 8" and "gr 8" too).
//
// A bare number without a point is refused, since a metric bolt has no grade 8 and an
// inch bolt no class 8: the error says to write SAE before it. Stainless classes and
// other standards are not covered; give the strength instead. The error is an
// *[argument.Error] whose argument is "grade".
//
// Source: see [Grade.Strength].
func ParseGrade(text string) (Grade, error) {
	s := strings.Join(strings.Fields(strings.ToLower(text)), " ")
	shown := quoteShort(text)
	inch := false
	for _, prefix := range []string{"sae", "j429", "j 429", "grade", "gr.", "gr"} {
		if rest, ok := strings.CutPrefix(s, prefix); ok {
			s, inch = strings.TrimLeft(rest, " -"), true
		}
	}
	if !inch {
		s = strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(s, "property "), "class"))
	}
	if s == "" {
		return Grade{}, argument.Refuse("grade", "the grade is empty", `write it as "8.8" or "SAE 8"`)
	}
	rows := classRows
	if inch {
		rows = saeRows
	}
	for _, row := range rows {
		if row.name == s {
			return Grade{name: s, metric: !inch}, nil
		}
	}
	for _, row := range saeRows {
		if !inch && row.name == s {
			return Grade{}, argument.Refuse("grade", shown+" may be an inch grade or half a property class", "write \"SAE "+s+"\" for the inch grade, and a property class with its point, as in 8.8")
		}
	}
	for _, row := range classRows {
		if inch && row.name == s {
			return Grade{}, argument.Refuse("grade", shown+" is a property class of metric bolts", "write it as \""+s+"\"")
		}
	}
	return Grade{}, argument.Refuse("grade", shown+" is no grade that is known: property classes 4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9, 12.9 and SAE 1, 2, 5, 8 are",
		"give the strength of the bolt instead")
}

// Strength returns the least stresses that a standard asks of a bolt of the grade and
// of the thread's size.
//
// Property classes hold for metric threads from M1.6 to M39 (9.8 to M16), SAE grades
// for inch threads from 1/4 to 1-1/2 in. SAE 2 above 3/4 in is as SAE 1, and so is a
// bolt of SAE 2 longer than 6 in, which is not looked at here. An *[argument.Error] is
// returned for a size outside that, a metric thread with an SAE grade or the reverse,
// and the zero Thread or Grade.
//
// Source: ISO 898-1:2013, table 3; SAE J429, table 1. Seen: two stored pages each
// that print them. Not seen: the standards.
func (g Grade) Strength(t Thread) (Strength, error) {
	if err := t.check(); err != nil {
		return Strength{}, err
	}
	if g.name == "" {
		return Strength{}, argument.Refuse("grade", "no grade is given", `write it as "8.8" or "SAE 8"`)
	}
	if g.metric != (t.standard == ISOMetric) {
		return Strength{}, argument.Refuse("grade", "grade "+g.String()+" is not laid down for the "+t.standard.String()+" thread "+t.String(),
			"check the mark on the head, or give the strength of the bolt instead")
	}
	rows, size, least, most, unit := classRows, round9(float64(t.diameter)*1e3), smallestClass, float64(largestClass), "mm"
	stress := quantity.Pressure(1e6)
	if !g.metric {
		rows, size, least, most, unit = saeRows, round9(float64(t.diameter)/0.0254), smallestSAE, largestSAE, "in"
		stress = ksi
	}
	for _, row := range rows {
		if row.name != g.name {
			continue
		}
		if size >= least && size > row.above && size <= row.to {
			return Strength{Proof: quantity.Pressure(row.proof) * stress, Yield: quantity.Pressure(row.yield) * stress, Tensile: quantity.Pressure(row.tensile) * stress}, nil
		}
		most = row.to
	}
	return Strength{}, argument.Refuse("grade", "grade "+g.String()+" is laid down for "+number(least)+" to "+number(most)+" "+unit+", not for "+t.String(),
		"give the strength of the bolt instead")
}

// ProofLoad returns the load that a bolt must bear without a lasting set, and the
// stress that it stands for.
//
//	Fp = As·Sp
//
// As is the stress area and Sp the proof stress of the grade at this size. The tables
// of the standards round As to three figures first and the load after, some upwards;
// they differ from what is returned here by up to 0.7 % (one cell of M39 by 0.8 %). The
// load is computed rather than looked up, so that threads outside the tables are treated
// alike.
//
// Errors are those of [Grade.Strength].
//
// Source: ISO 898-1 and SAE J429. Seen: two stored copies of the load tables.
func ProofLoad(t Thread, g Grade) (quantity.Force, quantity.Pressure, error) {
	s, err := g.Strength(t)
	if err != nil {
		return 0, 0, err
	}
	return quantity.Force(float64(t.StressArea()) * float64(s.Proof)), s.Proof, nil
}
