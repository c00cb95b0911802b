package joint

import (
	"math"

	"buttonup/mechanics/argument"
	"buttonup/quantity"
)

// Standard is the family of threads that a thread belongs to.
type Standard uint8

// The families that are known. Both have the same 60° basic profile.
const (
	// NoStandard is that of the zero Thread.
	NoStandard Standard = iota
	// ISOMetric is ISO 68-1 and ISO 261: M10x1.25.
	ISOMetric
	// UnifiedInch is ASME B1.1: 3/8-16.
	UnifiedInch
)

// String returns "ISO metric", "unified inch" or "no standard".
func (s Standard) String() string {
	switch s {
	case ISOMetric:
		return "ISO metric"
	case UnifiedInch:
		return "unified inch"
	}
	return "no standard"
}

// Series says where the pitch stands among those that the standard gives the
// diameter.
type Series uint8

// The series. A thread outside the tables is Special, which is no mistake: an engine
// maker may cut any pitch.
const (
	// Special is a pitch that the standard does not list for the diameter; on inch
	// threads UNS.
	Special Series = iota
	// Coarse is the coarse series; on inch threads UNC.
	Coarse
	// Fine is any fine pitch of ISO 261; on inch threads UNF.
	Fine
	// ExtraFine is UNEF.
	ExtraFine
	// ConstantPitch is one of the 4, 6, 8, 12, 16, 20, 28 and 32 thread series, UN.
	ConstantPitch
)

// Thread is a screw thread of the 60° profile: its diameter, pitch, series and hand.
// [ParseThread], [Metric] and [Unified] make one. It may be compared with ==. The
// zero Thread is no thread: its sizes are zero and every function that may return an
// error refuses it.
type Thread struct {
	standard Standard
	diameter quantity.Length
	pitch    quantity.Length
	// tpi is kept beside the pitch so that 24 threads an inch prints as 24.
	tpi    float64
	series Series
	left   bool
}

// root3 is √3.
const root3 = 1.7320508075688772

// Bounds of what is taken for a thread: the sizes of ISO 261 and ASME B1.1, and a
// pitch that leaves a core to the bolt (the steepest listed thread, M1 × 0.25, has
// 0.25).
const (
	smallestMetric, largestMetric = 1.0, 300.0 // mm
	finestMetric, steepestMetric  = 0.2, 8.0   // mm
	smallestInch, largestInch     = 0.06, 4.0  // in
	fewestTPI, mostTPI            = 4.0, 80.0
	steepestShare                 = 0.3 // pitch over diameter
)

// Metric returns the right-hand ISO metric thread of a nominal diameter and a pitch.
// A pitch of zero means the coarse one.
//
// The diameter must be from 1 to 300 mm and the pitch from 0.2 to 8 mm and at most
// 0.3 of the diameter; a pitch that ISO 261 does not list is taken and is Special.
// Metric returns an *[argument.Error] otherwise, and for a pitch of zero where the
// diameter has no coarse pitch.
//
// Source: ISO 261, coarse and fine pitches. Not seen; memory, checked against the
// ISO 724 and ISO 898-1 sizes in testdata/published.
func Metric(diameter, pitch quantity.Length) (Thread, error) {
	d := round9(float64(diameter) * 1e3)
	if !(d >= smallestMetric && d <= largestMetric) {
		return Thread{}, argument.Refuse("diameter", "a metric thread of "+argument.Show(diameter)+" is not between M1 and M300", "check the diameter")
	}
	p := round9(float64(pitch) * 1e3)
	if p == 0 {
		coarse, ok := metricCoarse(d)
		if !ok {
			return Thread{}, argument.Refuse("pitch", "M"+number(d)+" has no coarse pitch in ISO 261", "write the pitch too, as in M"+number(d)+"x PITCH")
		}
		p = coarse
	}
	if !(p >= finestMetric && p <= steepestMetric && p <= steepestShare*d) {
		most := math.Min(steepestMetric, steepestShare*d)
		return Thread{}, argument.Refuse("pitch", "a pitch of "+number(p)+" mm is no pitch for M"+number(d)+": it must be from 0.2 to "+number(most)+" mm",
			"if "+number(p)+" mm is the length of the screw, leave it out of the thread")
	}
	t := Thread{standard: ISOMetric, diameter: quantity.Millimetres(d), pitch: quantity.Millimetres(p)}
	t.series = metricSeries(d, p)
	return t, nil
}

// Unified returns the right-hand unified inch thread of a nominal diameter and a
// number of threads an inch.
//
// The diameter must be from 0.060 in (number 0) to 4 in, the threads from 4 to 80 an
// inch with a pitch of at most 0.3 of the diameter; a pitch that ASME B1.1 does not
// list is taken and is Special (UNS). Unified returns an *[argument.Error] otherwise.
//
// Source: ASME B1.1, standard series. Not seen; memory, checked against the stress
// area tables in testdata/published.
func Unified(diameter quantity.Length, threadsPerInch float64) (Thread, error) {
	d := round9(float64(diameter) / 0.0254)
	if !(d >= smallestInch && d <= largestInch) {
		return Thread{}, argument.Refuse("diameter", "an inch thread of "+number(d)+" in is not between 0.06 in (number 0) and 4 in", "check the diameter")
	}
	if !(threadsPerInch >= fewestTPI && threadsPerInch <= mostTPI && 1/threadsPerInch <= steepestShare*d) {
		least := math.Ceil(math.Max(fewestTPI, 1/(steepestShare*d)))
		return Thread{}, argument.Refuse("threads per inch", number(threadsPerInch)+" threads per inch is no pitch for "+number(d)+" in: it must be from "+number(least)+" to 80",
			"check the number after the hyphen")
	}
	t := Thread{standard: UnifiedInch, diameter: quantity.Inches(d), pitch: quantity.Inches(1 / threadsPerInch), tpi: threadsPerInch}
	t.series = unifiedSeries(d, threadsPerInch)
	return t, nil
}

// check refuses the zero Thread.
func (t Thread) check() error {
	if t.standard == NoStandard {
		return argument.Refuse("thread", "no thread is given", `write it as "M10x1.25" or "3/8-16"`)
	}
	return nil
}

// Standard returns the family of the thread.
func (t Thread) Standard() Standard { return t.standard }

// Series returns where the pitch stands in the standard.
func (t Thread) Series() Series { return t.series }

// Diameter returns the nominal (basic major) diameter, d.
func (t Thread) Diameter() quantity.Length { return t.diameter }

// Pitch returns the distance from thread to thread, P. The threads have one start,
// so it is also the advance of one turn.
func (t Thread) Pitch() quantity.Length { return t.pitch }

// ThreadsPerInch returns 25.4 mm over the pitch; 0 for the zero Thread.
func (t Thread) ThreadsPerInch() float64 {
	switch {
	case t.tpi > 0:
		return t.tpi
	case t.pitch > 0:
		return 0.0254 / float64(t.pitch)
	}
	return 0
}

// LeftHand reports whether the thread is left-handed.
func (t Thread) LeftHand() bool { return t.left }

// Handed returns the same thread, left-handed or right-handed as asked.
func (t Thread) Handed(left bool) Thread {
	if t.standard != NoStandard {
		t.left = left
	}
	return t
}

// PitchDiameter returns the basic pitch diameter.
//
//	d2 = d − 3/4·H,  H = √3/2·P
//
// d is the nominal diameter, P the pitch, H the height of the sharp triangle. It is
// the same for both families. No allowance for fit is in it: see [Thread.Limits].
//
// Source: ISO 68-1 and ISO 724; ASME B1.1. Seen: a thread data page that quotes ISO
// 724. Not seen: the standards.
func (t Thread) PitchDiameter() quantity.Length {
	return t.diameter - quantity.Length(3.0/8*root3)*t.pitch
}

// MinorDiameter returns the basic minor diameter: that of the bore of a nut before
// any allowance, and of the basic profile.
//
//	D1 = d1 = d − 5/4·H,  H = √3/2·P
//
// It is the "minor diameter" of ISO 724. The root of the bolt's thread is smaller:
// see [Thread.RootDiameter].
//
// Source: ISO 68-1 and ISO 724; ASME B1.1. Seen: a thread data page that quotes ISO
// 724. Not seen: the standards.
func (t Thread) MinorDiameter() quantity.Length {
	return t.diameter - quantity.Length(5.0/8*root3)*t.pitch
}

// RootDiameter returns the diameter at the root of the bolt's thread.
//
//	d3 = d1 − H/6 = d − 17/24·√3·P
//
// It is the minor diameter that the stress area of ISO 898-1 uses. For inch threads
// it is the basic minor diameter of the external UN thread of older editions of ASME
// B1.1; their stress area does not use it.
//
// Source: ISO 724 and ISO 898-1, note on the stress area. Seen: a thread data page
// that quotes them. Not seen: the standards.
func (t Thread) RootDiameter() quantity.Length {
	return t.diameter - quantity.Length(17.0/24*root3)*t.pitch
}

// StressArea returns the tensile stress area of the bolt.
//
//	ISO metric:    As = π/4·[(d2 + d3)/2]²
//	unified inch:  As = π/4·(d − 9·√3/16·P)²
//
// d, d2 and d3 are the nominal, pitch and root diameters, P the pitch. The two forms
// differ: for the same d and P the inch form gives up to about 2 % less. Standards
// print the area rounded to three figures (metric) or four decimals of a square inch;
// nothing is rounded here.
//
// Source: ISO 898-1; ASME B1.1 appendix B. Seen: tables and a data page that quote
// them. Not seen: the standards.
func (t Thread) StressArea() quantity.Area {
	s := t.stressDiameter()
	return quantity.Area(math.Pi / 4 * s * s)
}

// stressDiameter is the diameter of a round bar of the stress area, in metres.
func (t Thread) stressDiameter() float64 {
	if t.standard == UnifiedInch {
		return float64(t.diameter) - 9.0/16*root3*float64(t.pitch)
	}
	return float64(t.PitchDiameter()+t.RootDiameter()) / 2
}

// LeadAngle returns the slope of the thread at the pitch diameter.
//
//	tan λ = P/(π·d2)
//
// Source: screw geometry, in any machine-design text. It is 0 for the zero Thread.
func (t Thread) LeadAngle() quantity.Angle {
	if t.standard == NoStandard {
		return 0
	}
	return quantity.Angle(math.Atan2(float64(t.pitch), math.Pi*float64(t.PitchDiameter())))
}
