package web

import (
	"os"
	"testing"

	"buttonup/internal/store"
)

// adjusting is a job at which an adjuster is set next.
const adjusting = `pack "adjuster" { title = "One adjuster" }
dimension "turned" {
  title = "Adjuster turned down from touch"
  step  = "1 flats"
  new   = "16 .. 18 flats"
}
operation "set" {
  title = "94 Preload set"
  holds = [dimension.turned]
}
`

// TestOrderPagesInABrowser drives the order of work, the spaces, the tear-back and the
// moments at the bench over the demo jobs; what is checked stands in browser/order.mjs.
func TestOrderPagesInABrowser(t *testing.T) {
	if os.Getenv(askForBrowser) != "1" {
		t.Skip("runs with BUTTONUP_BROWSER=1, as make test does")
	}
	s := demoServer(t)
	texts := store.Texts{Pack: []store.NamedText{{Name: "adjuster.pack", Text: []byte(adjusting)}}}
	if _, err := s.record.(*store.Store).CreateJob(t.Context(), store.NewJob{ID: "0900", Title: "One adjuster", Texts: texts}); err != nil {
		t.Fatal(err)
	}
	for id, line := range map[string]string{
		"high-left":  `{"id":"high-left","at":"2026-04-14T10:00:00Z","by":"bench","kind":"reading","of":"trued_angle","place":"left","value":"90 deg"}`,
		"high-right": `{"id":"high-right","at":"2026-04-14T10:01:00Z","by":"bench","kind":"reading","of":"trued_angle","place":"right","value":"270 deg"}`,
	} {
		if done, err := s.record.Append(t.Context(), "0418", []byte(line)); err != nil || done[0].Outcome != store.Kept {
			t.Fatalf("%s: %v %v", id, done, err)
		}
	}
	checkInBrowser(t, nil, "order.mjs", serve(t, s))
}
