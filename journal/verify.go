package journal

import (
	"cmp"
	"fmt"
	"slices"
)

// verifier follows the chain through the lines of a file.
type verifier struct {
	// seq and stated are those written in the last sealed line. computed is the
	// hash which that line should have had; they differ where it was changed.
	seq              int
	stated, computed [32]byte
	sealed, wrong    int
	// plain counts lines without an exact seal, firstPlain is the first of them and
	// firstStray the first that has a seq or hash nonetheless.
	plain, firstPlain, firstStray int
}

// check takes the next sealed line and returns "" or what is wrong with it.
func (v *verifier) check(s seal, received []byte) string {
	expected := v.seq + 1
	fits := Chain(v.stated, received)
	sound := fits == s.hash
	if !sound && v.stated != v.computed {
		// When only the hash of the line before was changed, this line continues
		// from what it should have been.
		if other := Chain(v.computed, received); other == s.hash {
			fits, sound = other, true
		}
	}
	v.seq, v.stated, v.computed = s.seq, s.hash, fits
	v.sealed++
	if sound && s.seq == expected {
		return ""
	}
	v.wrong++
	switch {
	case s.seq == expected:
		return "the hash does not fit: this line was changed after the export, or one before it was"
	case sound:
		return fmt.Sprintf("the line has seq %d where %d should stand", s.seq, expected)
	}
	return fmt.Sprintf("the line has seq %d where %d should stand, and its hash does not fit: a line is missing, was put in or was moved", s.seq, expected)
}

// bare takes a line without an exact seal.
func (v *verifier) bare(line int, stray bool) {
	if v.plain++; v.plain == 1 {
		v.firstPlain = line
	}
	if stray && v.firstStray == 0 {
		v.firstStray = line
	}
}

// verdict returns what is wrong with the file as a whole, nil for nothing.
func (v *verifier) verdict() *Problem {
	switch {
	case v.sealed > 0 && v.plain > 0:
		return &Problem{Code: CodeChainBroken, Line: v.firstPlain,
			Detail: fmt.Sprintf("%d of the %d lines, this one the first, have no seq and hash as an export writes them; they cannot be checked", v.plain, v.plain+v.sealed)}
	case v.firstStray > 0:
		return &Problem{Code: CodeChainBroken, Line: v.firstStray,
			Detail: "the line has a seq or hash that is not written as an export writes it; it cannot be checked"}
	}
	return nil
}

// sound says whether there is a chain and nothing is wrong with it.
func (v *verifier) sound() bool { return v.sealed > 0 && v.wrong == 0 && v.plain == 0 }

// sortProblems puts problems in the order of their lines; those of one line keep
// their order.
func sortProblems(problems []Problem) {
	slices.SortStableFunc(problems, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
}
