package web

import (
	"bytes"
	"net/http"
	"strings"
	"testing"

	"buttonup/internal/book"
)

// What is asked on the telephone is found on a page, and leads to the job.
func TestFindPage(t *testing.T) {
	s := newBench(t, "clean-rebuild")
	page := s.get("/find?q=rear+ring+gap")
	if !strings.Contains(page, "Top ring end gap, rear 0.") {
		t.Errorf("the page answers\n%.600s", page)
	}
	if page := s.get("/find"); !strings.Contains(page, "engine number") {
		t.Error("the empty page does not say what can be asked")
	}
	if page := s.get("/find?q=%3Cscript%3Edodecahedron"); !strings.Contains(page, "Nothing has all") || strings.Contains(page, "<script>dodeca") {
		t.Error("what was typed is not shown as text")
	}
}

// Each paper that the page offers is made.
func TestPapers(t *testing.T) {
	s := newBench(t, "clean-rebuild")
	page := s.get("/job/clean-rebuild/paper")
	for _, p := range papers {
		if !strings.Contains(page, "/paper/"+p.Name) {
			t.Errorf("the page does not offer %s", p.Name)
		}
		r := s.do("GET", "/job/clean-rebuild/paper/"+p.Name, nil)
		if r.Code != http.StatusOK || r.Body.Len() < 40 {
			t.Errorf("%s: %d, %d bytes", p.Name, r.Code, r.Body.Len())
		}
		if strings.HasPrefix(p.Name, "book.") {
			if got := book.CheckSums(r.Body.Bytes()); len(got.Damage) > 0 {
				t.Errorf("%s is not whole: %+v", p.Name, got.Damage)
			}
		}
		if strings.HasSuffix(p.Name, ".pdf") && !bytes.HasPrefix(r.Body.Bytes(), []byte("%PDF-")) {
			t.Errorf("%s is no PDF", p.Name)
		}
	}
	if r := s.do("GET", "/job/clean-rebuild/paper/secrets.csv", nil); r.Code != http.StatusNotFound {
		t.Errorf("a paper that is none: %d", r.Code)
	}
}
