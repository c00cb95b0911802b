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
		handoutPathOf("clean-rebuild", "dimension.bore", "rear"):        http.StatusOK,
		handoutPathOf("clean-rebuild", "operation.carrier_on", "front"): http.StatusOK,
		"/job/clean-rebuild/paper/sublet.pdf?of=dimension.bore":         http.StatusOK,
		"/job/clean-rebuild/paper/sublet.pdf?of=dimension.none":         http.StatusNotFound,
		"/job/clean-rebuild/paper/sublet.pdf":                           http.StatusNotFound,
		"/job/none/paper/sublet.pdf?of=dimension.bore":                  http.StatusNotFound,
	} {
		w := b.do("GET", path, nil)
		if w.Code != status {
			t.Errorf("%s: %d, want %d", path, w.Code, status)
		}
		if status == http.StatusOK && !strings.HasPrefix(w.Body.String(), "%PDF-") {
			t.Errorf("%s is no PDF", path)
		}
	}
	contains(t, b.get("/job/clean-rebuild/read/bore?place=rear"), "/paper/handout.pdf?of=dimension.bore&amp;place=rear", "/paper/sublet.pdf?of=dimension.bore")
}

func handoutPathOf(job, of, place string) string {
	return query(jobPath(job, "paper", "handout.pdf"), "of", of, "place", place)
}

// A joint that was left half tight is one tap away, and what only wants a reading too.
func TestAJobLeadsToWhatWasLeft(t *testing.T) {
	b := newBench(t, "mid-inspection")
	contains(t, b.get("/job/mid-inspection"), "Go on: T05 Barrel and head nuts, front", `href="/job/mid-inspection/wrench/head_nuts/front"`)
	b.job("adjuster", adjusting, "")
	contains(t, b.get("/job/adjuster"), `href="/job/adjuster/do/set"`)
	contains(t, b.get("/job/adjuster/readings"), `href="/job/adjuster/flats/turned"`)
}
