package web

import (
	"context"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"buttonup/assess"
	"buttonup/internal/store"
	"buttonup/words"
)

// job starts a job on a pack of a test's own.
func (b *bench) job(id, pack, journal string) {
	b.t.Helper()
	texts := store.Texts{Pack: []store.NamedText{{Name: id + ".pack", Text: []byte(pack)}}}
	if _, err := b.record.CreateJob(context.Background(), store.NewJob{ID: id, Title: id, Texts: texts}); err != nil {
		b.t.Fatal(err)
	}
	if _, err := b.record.Import(context.Background(), id, []byte(journal)); err != nil {
		b.t.Fatal(err)
	}
}

var (
	addresses = regexp.MustCompile(`(?:href|hx-get)="(/job/[^"#]+)[^"]*"`)
	anchors   = regexp.MustCompile(`href="(/job/[^"]*/spaces)?#([^"]+)"`)
	options   = regexp.MustCompile(`<option value="([^"]+)"`)
)

// Every step of an order of work is on its page once, in order, and all that the pages
// of order lead to is there.
func TestOrderOfWorkShowsTheRoute(t *testing.T) {
	journals := []string{"mid-inspection", "clean-rebuild", "swapped-gasket", "crank-truing"}
	b := newBench(t, journals...)
	visited := map[string]bool{}
	for _, job := range journals {
		sh, err := b.server.desks.sheet(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		route := sh.A.Route()
		page := b.get("/job/" + job + "/route")
		rest := page
		for i := range route.Steps {
			_, title := words.NumberAndTitle(sh.pack.Pack, route.Steps[i].Operation)
			at := strings.Index(rest, html.EscapeString(title))
			if at < 0 {
				t.Fatalf("%s: step %d, %s, is missing or out of order", job, i+1, title)
			}
			rest = rest[at+1:]
		}
		if got := strings.Count(page, `class="whyl"`); got != len(route.Steps) {
			t.Errorf("%s: %d steps are shown, the route has %d", job, got, len(route.Steps))
		}
		stuck := 0
		for _, g := range sh.stuckGroups(route) {
			stuck += 1 + len(g.Waiting)
		}
		if stuck != len(route.Stuck) {
			t.Errorf("%s: %d stuck are told, the route has %d", job, stuck, len(route.Stuck))
		}
		for _, path := range []string{page, b.get("/job/" + job + "/spaces"), b.get("/job/" + job + "/tearback"), b.get("/job/" + job)} {
			for _, m := range addresses.FindAllStringSubmatch(path, -1) {
				address := html.UnescapeString(m[1])
				if visited[address] || strings.HasSuffix(address, "/events") || strings.Contains(address, "/paper/") {
					continue
				}
				visited[address] = true
				if len(visited)%9 == 1 { // each costs an assessment of its own or more
					if w := b.do("GET", address, nil); w.Code != http.StatusOK && w.Code != http.StatusSeeOther {
						t.Errorf("%s leads to %s: %d", job, address, w.Code)
					}
				}
			}
		}
		spaces := b.get("/job/" + job + "/spaces")
		for _, m := range anchors.FindAllStringSubmatch(page+spaces+b.get("/job/"+job), -1) {
			if strings.HasPrefix(m[2], "space") && !strings.Contains(spaces, `id="`+m[2]+`"`) {
				t.Errorf("%s: nothing has the name %s", job, m[2])
			}
		}
	}
}

func TestWhyAStepStandsWhereItDoes(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	page := b.get("/job/clean-rebuild/route?why=operation.cam_cover_on")
	contains(t, page, `<div class="whybox">`, "053 Cam cover closed, new gasket B, lengths mapped needs", `aria-expanded="true"`)
	if strings.Count(page, `class="whybox"`) != 1 {
		t.Error("not one step is told of")
	}
	lacks(t, b.get("/job/clean-rebuild/route?why=operation.none"), `class="whybox"`)
}

const shortJob = `pack "short" { title = "A short job" }
space "box" { title = "Gear box" }
dimension "play" {
  title = "Gear play"
  limit = "<= 0.10 mm"
}
temporary "rag" { title = "Rag in the mouth" }
operation "gear_in" {
  title = "10 Gear in"
  in    = [space.box]
  holds = [dimension.play]
}
operation "seal" {
  title = "20 Seal in"
  needs = [operation.gear_in]
  in    = [space.box]
}
operation "close" {
  title   = "30 Cover on"
  needs   = [operation.seal]
  closes  = [space.box]
  minutes = 20
}
operation "paint" {
  title   = "40 Touch up the paint"
  minutes = 5
}
`

// What no order can finish is told as a chain that ends at what could change.
func TestWhatCannotBeFinishedIsAChain(t *testing.T) {
	b := newBench(t)
	b.job("short", shortJob, `{"id":"1","at":"2026-03-18T08:00:00Z","kind":"job","title":"Short"}
{"id":"2","at":"2026-03-18T09:00:00Z","kind":"reading","of":"play","value":"0.30 mm"}
`)
	page := b.get("/job/short/route")
	contains(t, page, "3 steps cannot be finished as things stand", "10 Gear in is held by Gear play", "What could break it.", "put it right and read it again", "2 more steps wait for this", `href="/job/short/read/play"`, "Touch up the paint")
	// Nobody drew this engine: the list serves alone.
	spaces := b.get("/job/short/spaces")
	contains(t, spaces, "Gear box", "0 of 1 space closed", "Closing begins with 30 Cover on", "To come back right after: 20 min to take back")
	lacks(t, spaces, "secdraw")
	contains(t, b.get("/job/short/tearback?to=space.box"), "Nothing has to come off")

	// Closed over what is not done: told on the spaces page, and the way back priced.
	b.job("shut", shortJob, `{"id":"1","at":"2026-03-18T08:00:00Z","kind":"job","title":"Shut"}
{"id":"2","at":"2026-03-18T09:00:00Z","kind":"operation","operation":"close","state":"done"}
`)
	contains(t, b.get("/job/shut/spaces"), "Closed over 2 things not done", "Closed by cover on, Wed 18 Mar 09:00", "20 Seal in")
	back := b.get("/job/shut/tearback?to=space.box")
	contains(t, back, "This comes off, in this order", "Cover on", "0:20", html.EscapeString(words.TearBackCaution))
	contains(t, b.get("/job/shut/route?why="+url.QueryEscape("operation.close back")), "Take back: Cover on", "Gear box is open again", "Work is still to be done in gear box")
}

// Whatever the list offers to be reached has an answer: ways, nothing to take off, or
// the reason why there is none.
func TestEveryTearBackIsAnswered(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	page := b.get("/job/clean-rebuild/tearback")
	list := options.FindAllStringSubmatch(page, -1)
	if len(list) < 150 {
		t.Fatalf("only %d things can be asked for", len(list))
	}
	for i, m := range list {
		if i%7 != 0 && !strings.HasPrefix(m[1], "space.") {
			continue
		}
		answer := b.get(query("/job/clean-rebuild/tearback", "to", html.UnescapeString(m[1])))
		if !strings.Contains(answer, "This comes off, in this order") && !strings.Contains(answer, "Nothing has to come off") && !strings.Contains(answer, "It cannot be reached as things stand") {
			t.Errorf("no answer for %s", m[1])
		}
	}
	for _, wrong := range []string{"space.none", "nonsense", "slot.piston front", "space.cylinders", "space.cylinders left", "<script>"} {
		answer := b.get(query("/job/clean-rebuild/tearback", "to", wrong))
		contains(t, answer, "Choose it from the list.")
		lacks(t, answer, "<script>")
	}
}

// The section is drawn from the outlines of the pack, and is well-formed.
func TestSectionDrawing(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	page := b.get("/job/clean-rebuild/spaces")
	from := strings.Index(page, `<svg class="dr section"`)
	to := strings.Index(page[from:], "</svg>") + from + len("</svg>")
	d := xml.NewDecoder(strings.NewReader(page[from:to]))
	links := 0
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "a" {
			links++
		}
	}
	if links != 15 {
		t.Errorf("%d of the 15 spaces are drawn", links)
	}
	// Path data of a stranger stays inside its attribute.
	b.job("odd", `pack "odd" { title = "Odd" }
space "box" {
  title   = "Box <b>"
  outline = "M10 10 L40 10 L40 40 Z"
  label   = [20, 20]
}
operation "close" { closes = [space.box] }
`, "")
	odd := b.get("/job/odd/spaces")
	contains(t, odd, `d="M10 10 L40 10 L40 40 Z"`)
	lacks(t, odd, "Box <b>")
}

func TestBoxOfPath(t *testing.T) {
	for _, x := range []struct {
		data string
		want box
	}{
		{"M10 20 L30 5 Z", box{10, 5, 30, 20}},
		{"m10,20 20,-15 z", box{10, 5, 30, 20}},
		{"M0 0H40V-5h-50", box{-10, -5, 40, 0}},
		{"M0 0C0-10 5-10 5 0", box{0, -10, 5, 0}},
		{"M0 0c.5-10.5.5-10.5 5 0", box{0, -10.5, 5, 0}},
		{"M0 0A5 5 0 0 1 10 0", box{0, 0, 10, 0}},
		{"M1e1 2e0 L0 0", box{0, 0, 10, 2}},
		{"M5 5 L9 9 Z l1 1", box{5, 5, 9, 9}},
	} {
		if got := boxOfPath(x.data); got != x.want {
			t.Errorf("boxOfPath(%q) = %v, want %v", x.data, got, x.want)
		}
	}
	for _, odd := range []string{"", "M", "-", "e", "+-.", "M1", "QQQ", "12 13", "M 1e999 2"} {
		if got := boxOfPath(odd); got.right-got.left > 0 {
			t.Errorf("boxOfPath(%q) = %v", odd, got)
		}
	}
}

// Two lines at most stand beside the drawing.
func TestWrapWords(t *testing.T) {
	for text, want := range map[string]string{
		"Crankcase": "Crankcase", "Oil pump gears": "Oil pump|gears", "Unpronounceablegearbox": "Unpronounceab…", "a b c d e f g h i j k l m n o p q r s": "a b c d e f g|h i j k l m n…",
	} {
		if got := strings.Join(wrapWords(text, 13), "|"); got != want {
			t.Errorf("wrapWords(%q) = %s, want %s", text, strconv.Quote(got), want)
		}
	}
}

// The later it is found, the more it takes, up to the price at the end; now is what the
// page says above.
func TestFoundLaterCostsMore(t *testing.T) {
	b := newBench(t, "clean-rebuild")
	lacks(t, b.get("/job/clean-rebuild/tearback?to=space.crankcase"), `id="later"`)
	contains(t, b.get("/job/clean-rebuild/tearback?to=space.crankcase&later=yes"), `id="later"`, "If found now", "Once all is done", `<svg class="dr later"`)
	sh, err := b.server.desks.sheet(t.Context(), "clean-rebuild")
	if err != nil {
		t.Fatal(err)
	}
	for _, to := range []string{"space.crankcase", "operation.chest_oiled"} {
		v := &tearView{view: view{Sheet: sh}, To: to}
		list := v.later()
		if len(list) < 4 || len(list) > mostFound+1 {
			t.Errorf("%s: asked %d times", to, len(list))
		}
		now, err := sh.pack.model.TearBack(sh.State, assess.Options{Now: sh.made}, to)
		if err != nil {
			t.Fatal(err)
		}
		want := time.Duration(0)
		if len(now.Ways) > 0 {
			want = now.Ways[0].Work + now.Ways[0].Again
		}
		if list[0].Hours != want {
			t.Errorf("%s: %v if found now, want %v", to, list[0].Hours, want)
		}
		for i, x := range list[1:] {
			if x.Hours < list[i].Hours {
				t.Errorf("%s: found after step %d it takes %v, after step %d %v", to, list[i].Step, list[i].Hours, x.Step, x.Hours)
			}
		}
		if last := list[len(list)-1]; last.Hours <= list[0].Hours || last.Step != len(sh.A.Route().Steps) {
			t.Errorf("%s: at the end %v after step %d", to, last.Hours, last.Step)
		}
	}
}

// A job of many steps is shown in parts, each of them light.
func TestALongOrderComesInParts(t *testing.T) {
	b := newBench(t)
	var pack strings.Builder
	pack.WriteString("pack \"long\" { title = \"Long\" }\n")
	for i := range 400 {
		fmt.Fprintf(&pack, "operation \"step_%d\" {\n  title = \"%03d Step number %d\"\n}\n", i, i, i)
	}
	b.job("long", pack.String(), "")
	shown := map[string]bool{}
	for from := 0; from < 400; from += stepsAtOnce {
		page := b.get(query("/job/long/route", "from", strconv.Itoa(from)))
		for _, m := range regexp.MustCompile(`id="why-(operation-step_\d+)"`).FindAllStringSubmatch(page, -1) {
			if shown[m[1]] {
				t.Errorf("%s is shown twice", m[1])
			}
			shown[m[1]] = true
		}
	}
	if len(shown) != 400 {
		t.Errorf("%d of 400 steps are shown", len(shown))
	}
	contains(t, b.get("/job/long/route"), "steps 1 to 160 of 400", "Further", "400 steps left")
	for _, odd := range []string{"-5", "400", "x", "99999999999999999999"} {
		contains(t, b.get(query("/job/long/route", "from", odd)), "steps 1 to 160 of 400")
	}
}
