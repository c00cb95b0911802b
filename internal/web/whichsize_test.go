package web

import (
	"net/http"
	"strings"
	"testing"
)

func TestWhichSize(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	// The journal's own shim, chosen for 0.15 mm of end play, is the nearest there is.
	page := b.get("/job/clean-rebuild/parts/cam_shim")
	from := strings.Index(page, `id="sizes"`)
	if from < 0 {
		t.Fatal("the sizes are not ranked")
	}
	best := page[from:]
	best = best[:strings.Index(best, "next best")]
	contains(t, best, "AV-2120-90", "the best", "0.90")
	// A gasket is ranked by what it would bring out.
	contains(t, b.get("/job/clean-rebuild/parts/head_gasket?place=front"), "Squish, front", "the best", "next best", "1.200")
	contains(t, b.get("/job/clean-rebuild/do/chest_oiled"), "Which size", `/parts/cam_shim#sizes`)
	lacks(t, b.get("/job/clean-rebuild/parts/circlip"), `id="sizes"`)
}

func TestSheetsLeaveTheShop(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	for path, status := range map[string]int{
		"/job/clean-rebuild/sheet/handout.pdf?of=dimension.bore&place=rear":        http.StatusOK,
		"/job/clean-rebuild/sheet/handout.pdf?of=operation.carrier_on&place=front": http.StatusOK,
		"/job/clean-rebuild/sheet/sublet.pdf?of=dimension.bore":                    http.StatusOK,
		"/job/clean-rebuild/sheet/sublet.pdf?of=dimension.none":                    http.StatusNotFound,
		"/job/clean-rebuild/sheet/handout.pdf":                                     http.StatusNotFound,
		"/job/clean-rebuild/sheet/other.pdf?of=dimension.bore":                     http.StatusNotFound,
		"/job/none/sheet/handout.pdf?of=dimension.bore":                            http.StatusNotFound,
	} {
		w := b.do("GET", path, nil)
		if w.Code != status {
			t.Errorf("%s: %d, want %d", path, w.Code, status)
		}
		if status == http.StatusOK && !strings.HasPrefix(w.Body.String(), "%PDF-") {
			t.Errorf("%s is no PDF", path)
		}
	}
	contains(t, b.get("/job/clean-rebuild/paper"), "steps on your engine are done", "/paper/estimate.pdf")
}

// A joint that was left half tight is one tap away, and what only wants a reading too.
func TestAJobLeadsToWhatWasLeft(t *testing.T) {
	b := newBench(t, "mid-inspection")
	contains(t, b.get("/job/mid-inspection"), "Go on: T05 Barrel and head nuts, front", `href="/job/mid-inspection/wrench/head_nuts/front"`)
	b.job("adjuster", adjusting, "")
	contains(t, b.get("/job/adjuster"), `href="/job/adjuster/do/set"`)
	contains(t, b.get("/job/adjuster/readings"), `href="/job/adjuster/flats/turned"`)
}
