package web

import (
	"bytes"
	"image"
	"image/jpeg"
	"strings"
	"testing"
)

// A photo of a step, of what is looked at before it, or of its joint stands on the pages
// about them.
func TestPhotosStandWhereTheyBelong(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	var pic bytes.Buffer
	if err := jpeg.Encode(&pic, image.NewRGBA(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	sha, err := b.server.put(t.Context(), &pic)
	if err != nil {
		t.Fatal(err)
	}
	lines := ""
	for i, of := range []string{"operation.carrier_on front", "check.lifter_drops front inlet", "joint.lifter_carrier front"} {
		lines += `{"id":"photo-000` + string(rune('1'+i)) + `","at":"2026-03-18T10:00:00Z","kind":"photo","sha256":"` + sha + `","of":"` + of + `"}` + "\n"
	}
	if _, a := b.deliver("clean-rebuild", lines); outcomes(a) != "kept kept kept" {
		t.Fatalf("%+v", a)
	}
	small := `src="/photo/` + sha + `/small"`
	if n := strings.Count(b.get("/job/clean-rebuild/do/carrier_on/front"), small); n != 2 {
		t.Errorf("%d photos on the step, want its own and that of the look", n)
	}
	page, _, _ := strings.Cut(b.get("/job/clean-rebuild/wrench/lifter_carrier/front"), "<template data-outbox-next>")
	if n := strings.Count(page, small); n != 2 {
		t.Errorf("%d photos at the wrench, want the joint's and the step's", n)
	}
	lacks(t, b.get("/job/clean-rebuild/do/carrier_on/rear"), small)
}
