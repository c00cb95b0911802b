package assess_test

import (
	"slices"
	"testing"

	"buttonup/assess"
)

// The gasket set fills eighteen slots and has six sizes. Squish is computed from what
// the head gasket crushes to and its volume from the hole in it; nothing asks how thick
// the box gasket is there, nor anything of a circlip.
func TestSizesAskedOfTheSlotsOfAKit(t *testing.T) {
	m := assess.Prepare(demoPack(t))
	if got := m.SizesAsked("head_gasket"); !slices.Equal(got, []string{"crushed", "hole"}) {
		t.Errorf("of the head gasket is asked %q", got)
	}
	if got := m.SizesAsked("circlip"); len(got) != 0 {
		t.Errorf("of the circlip is asked %q", got)
	}
}
