package web

import (
	"encoding/json"
	"net/http"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/internal/book"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
	"buttonup/words"
)

// actRoutes are the pages on which work is done and recorded.
func (s *Server) actRoutes(m *http.ServeMux) {
	m.HandleFunc("POST /job/{job}/write", hurry(s.write))
	for _, place := range []string{"", "/{place...}"} {
		m.HandleFunc("GET /job/{job}/do/{operation}"+place, hurry(s.do))
		m.HandleFunc("GET /job/{job}/wrench/{joint}"+place, hurry(s.wrench))
	}
}

// write takes a form and appends what it says to the journal: one event for each body,
// in their order, under the key of the form. A form that comes twice counts once.
func (s *Server) write(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	bodies, refused := sh.bodies(r.PostForm.Get)
	if refused == nil && len(bodies) == 0 {
		bodies, refused = sh.manyBodies(r.PostForm["yes"])
	}
	if refused != nil {
		s.trouble(w, r, *refused)
		return
	}
	if r.PostForm.Get("kind") != "anyway" {
		if refused := s.unseen(r, sh, bodies); refused != nil {
			s.trouble(w, r, *refused)
			return
		}
	}
	s.append(w, r, sh, bodies, ownPath(r.PostForm.Get("back")))
}

// append writes bodies under the key of a form and goes to a page.
func (s *Server) append(w http.ResponseWriter, r *http.Request, sh *sheet, bodies []any, back string) {
	key := r.PostForm.Get("key")
	if !soundKey(key) || len(key) > 56 {
		s.trouble(w, r, unusable("The form was not whole.", "Open the page again. Nothing was kept."))
		return
	}
	at, late, refused := when(r.PostForm.Get("earlier"), s.options.Now())
	if refused != nil {
		s.trouble(w, r, *refused)
		return
	}
	stamps := make([]stamp, len(bodies))
	for i := range stamps {
		stamps[i] = stamp{at, late}
	}
	s.appendAt(w, r, sh, bodies, stamps, back)
}

// stamp is when an entry happened, and whether it is entered afterwards.
type stamp struct {
	At   time.Time
	Late bool
}

// appendAt is append with a time for each body.
func (s *Server) appendAt(w http.ResponseWriter, r *http.Request, sh *sheet, bodies []any, stamps []stamp, back string) {
	key := r.PostForm.Get("key")
	lines := make([][]byte, len(bodies))
	again := 0
	for i, body := range bodies {
		id := key
		if i > 0 {
			id += "-" + strconv.Itoa(i+1)
		}
		if k, there := sh.ids[id]; there {
			if !sameBody(sh.event[k].Body, body) {
				s.trouble(w, r, unusable("This form was used before, for another entry.", "Open the page again. Nothing was kept this time."))
				return
			}
			again++
		}
		e := journal.New(id, stamps[i].At, s.who(r), body)
		e.Late = stamps[i].Late
		var err error
		if lines[i], err = e.Encode(); err != nil {
			s.trouble(w, r, unusable(words.Upper(err.Error())+".", "Nothing was kept."))
			return
		}
	}
	if again < len(lines) {
		done, err := s.record.Append(r.Context(), sh.Job.ID, lines...)
		if err != nil {
			s.failed(w, r, err)
			return
		}
		for _, d := range done {
			if d.Outcome == store.Kept || d.Outcome == store.Already {
				continue
			}
			t := unusable("This was not kept.", "Open the page again.")
			if d.Problem != nil {
				t.Because = []string{words.Upper(d.Problem.Error())}
			}
			s.trouble(w, r, t)
			return
		}
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
}

// when says at what time an entry happened: now, or as long ago or at the hour that a
// person says who did it earlier.
func when(says string, now time.Time) (at time.Time, late bool, refused *trouble) {
	says = strings.TrimSpace(says)
	if says == "" {
		return now, false, nil
	}
	if t, err := time.Parse("15:04", says); err == nil {
		at = time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location())
		if at.After(now) {
			at = at.AddDate(0, 0, -1)
		}
		return at, true, nil
	}
	for _, form := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(form, says, now.Location()); err == nil {
			if t.After(now) {
				no := unusable("“"+says+"” is still to come, so it cannot have been done then.", "Choose a time before now. Nothing was kept.")
				return now, false, &no
			}
			return t, true, nil
		}
	}
	q, err := quantity.Parse(says)
	if err != nil || q.Dimension != quantity.OfTime || q.SI < 0 || q.SI > 366*24*3600 {
		no := unusable("“"+says+"” is no time of day and not how long ago.", "Write it like 14:20, or like 40 min or 2 h. Nothing was kept.")
		return now, false, &no
	}
	return now.Add(-time.Duration(q.SI * float64(time.Second))), true, nil
}

// isPlace says whether a block that stands at a place has this member.
func (s *sheet) isPlace(at, place string) bool {
	return slices.Contains(members(s.pack.Pack, at), place)
}

func (s *sheet) check(name string) *pack.Check {
	for _, c := range s.pack.Checks {
		if c.Name == name {
			return c
		}
	}
	return nil
}

func (s *sheet) joint(name, place string) *assess.Joint {
	for i := range s.A.Joints {
		if j := &s.A.Joints[i]; j.Name == name && j.Place == place {
			return j
		}
	}
	return nil
}

// reach lists the members of a place that a block at another place means: the same, the
// one that holds it, or all those within.
func (s *sheet) reach(from, member, to string) []string {
	if up, ok := s.pack.PlaceKinds.Up(from, member, to); ok {
		return []string{up}
	}
	return s.pack.PlaceKinds.Below(from, member, to)
}

func noSuch(what string) *trouble {
	t := unusable("This job has no such "+what+".", "It may have changed since the page was opened: open it again. Nothing was kept.")
	return &t
}

// bodies makes what a form wants to be written. It holds it against the pack, so that
// nothing is kept that no page could show.
func (s *sheet) bodies(get func(string) string) ([]any, *trouble) {
	field := func(name string) string { return strings.TrimSpace(get(name)) }
	one := func(body any) ([]any, *trouble) { return []any{body}, nil }
	switch field("kind") {
	case "operation":
		op := s.operation(field("operation"))
		if op == nil || !s.isPlace(op.At, field("place")) {
			return nil, noSuch("operation")
		}
		return one(journal.Operation{Operation: op.Name, Place: field("place"), State: field("state"), Note: field("note")})
	case "check":
		c := s.check(field("of"))
		if c == nil || !s.isPlace(c.At, field("place")) {
			return nil, noSuch("check")
		}
		if len(c.Answers) > 0 && !slices.Contains(c.Answers, field("answer")) {
			return nil, noSuch("answer to “" + c.Title + "”")
		}
		return one(journal.Check{Of: c.Name, Place: field("place"), Answer: field("answer"), Note: field("note")})
	case "wait":
		op := s.operation(field("operation"))
		if op == nil || !s.isPlace(op.At, field("place")) {
			return nil, noSuch("operation")
		}
		return one(journal.Wait{Operation: op.Name, Place: field("place"), State: field("state")})
	case "torque":
		return s.torqueBody(field)
	case "deviation":
		return one(journal.Deviation{Finding: field("finding"), Why: field("why")})
	case "anyway":
		return s.anyway(field)
	case "note":
		if field("text") == "" {
			t := unusable("The note is empty.", "Go back and write it. Nothing was kept.")
			return nil, &t
		}
		return one(journal.Note{Text: field("text"), Of: field("of")})
	case "part":
		return s.partBody(field)
	case "option":
		return s.optionBody(field)
	case "reading":
		return s.flatsBody(field)
	case "time":
		minutes, err := strconv.ParseFloat(field("minutes"), 64)
		if err != nil || minutes <= 0 || minutes > 10000 {
			t := unusable("“"+field("minutes")+"” is no number of minutes.", "Go back and write how many minutes you worked. Nothing was kept.")
			return nil, &t
		}
		return one(journal.TimeWorked{Operation: field("operation"), Minutes: minutes})
	case "cost":
		return one(journal.Cost{What: field("what"), Amount: field("amount")})
	case "instrument":
		return instrumentBody(field)
	case "mark", "estimate", "approval", "link", "addition":
		// A look of another person at a step is proven (sign); one's own reading back is not.
		if act, _, ok := book.SignedStep(field("what")); ok && act != book.ReadBack {
			return nil, noSuch("step")
		}
		return recordBody(field)
	case "strike":
		i, there := s.ids[field("event")]
		if !there {
			return nil, noSuch("entry")
		}
		if field("why") == "" {
			t := unusable("A strike needs its reason.", "Go back and write why: it stands beside the struck entry for good. Nothing was struck.")
			return nil, &t
		}
		if s.event[i].Body == nil {
			return nil, noSuch("entry")
		}
		return one(journal.Strike{Event: field("event"), Why: field("why")})
	case "":
		return nil, nil
	}
	return nil, noSuch("kind of entry")
}

// manyBodies answers checks with yes, or says that operations were done: several at
// once, each an event of its own.
func (s *sheet) manyBodies(references []string) ([]any, *trouble) {
	if len(references) == 0 {
		t := unusable("Nothing was chosen.", "Tick what was done and send it again.")
		return nil, &t
	}
	var list []any
	for _, reference := range references {
		name, place, _ := strings.Cut(reference, " ")
		kind, name, _ := strings.Cut(name, ".")
		switch kind {
		case "check":
			c := s.check(name)
			if c == nil || !s.isPlace(c.At, place) || len(c.Pass) == 0 {
				return nil, noSuch("check")
			}
			list = append(list, journal.Check{Of: name, Place: place, Answer: c.Pass[0]})
		case "operation":
			op := s.operation(name)
			if op == nil || !s.isPlace(op.At, place) {
				return nil, noSuch("operation")
			}
			list = append(list, journal.Operation{Operation: name, Place: place, State: journal.Done})
		default:
			return nil, noSuch("check")
		}
	}
	return list, nil
}

func (s *sheet) torqueBody(field func(string) string) ([]any, *trouble) {
	j := s.joint(field("joint"), field("place"))
	if j == nil {
		return nil, noSuch("joint")
	}
	t := journal.Torque{Joint: j.Name, Place: j.Place, Value: field("value"), Wrench: field("wrench")}
	stage, err := strconv.Atoi(field("stage"))
	if err != nil || stage < 1 || stage > len(j.Stages) {
		return nil, noSuch("stage of this joint")
	}
	t.Stage = stage
	if field("point") == "all" {
		t.All = true
	} else if t.Point, err = strconv.Atoi(field("point")); err != nil || t.Point < 1 || t.Point > j.Points {
		return nil, noSuch("fastener of this joint")
	}
	if t.Value != "" {
		if q, err := quantity.Parse(t.Value); err != nil || q.Dimension != quantity.OfTorque {
			no := unusable("“"+t.Value+"” is not a torque.", "Write it like 43 N·m or 32 ft-lb. Nothing was kept.")
			return nil, &no
		}
	}
	return []any{t}, nil
}

func (s *sheet) optionBody(field func(string) string) ([]any, *trouble) {
	for _, o := range s.pack.Options {
		if o.Name == field("option") && slices.Contains(o.Choices, field("choice")) {
			return []any{journal.Option{Option: o.Name, Choice: field("choice")}}, nil
		}
	}
	return nil, noSuch("choice")
}

// anyway accepts all that stands in the way of an operation, with one reason, and then
// says that it was done.
func (s *sheet) anyway(field func(string) string) ([]any, *trouble) {
	op, here := s.operation(field("operation")), assess.Operation{Name: field("operation"), Place: field("place")}
	if op == nil || !s.isPlace(op.At, here.Place) {
		return nil, noSuch("operation")
	}
	if op.Never {
		t := unusable("“"+op.Title+"” is never skipped.", "Do what it waits for first. Nothing was kept.")
		return nil, &t
	}
	if field("why") == "" {
		t := unusable("Going on anyway needs its reason.", "Go back and write why: it is printed in the build book. Nothing was kept.")
		return nil, &t
	}
	var list []any
	for _, id := range s.acceptIDs(op, here) {
		list = append(list, journal.Deviation{Finding: id, Why: field("why")})
	}
	return append(list, journal.Operation{Operation: op.Name, Place: here.Place, State: journal.Done, Note: field("why")}), nil
}

// acceptIDs lists the findings that stand in the way of an operation, or will once it
// is done.
func (s *sheet) acceptIDs(op *pack.Operation, here assess.Operation) []string {
	var ids []string
	add := func(code, of, place string) {
		id := (&assess.Finding{Code: code, Of: of, Place: place}).ID()
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	for _, reason := range s.because(here) {
		switch reason.Kind {
		case assess.Hold:
			for _, code := range reason.Result.InTheWay() {
				add(code, reason.Result.Reference(), reason.Result.Place)
			}
		case assess.Unfinished, assess.Temporary:
			for _, space := range s.closes(op, here.Place) {
				if reason.Kind == assess.Unfinished {
					add(assess.CodeClosedTooEarly, "space."+space.Name, space.Place)
				} else {
					add(assess.CodeTemporaryInside, reason.Of, space.Place)
				}
			}
		case assess.Locked:
			add(assess.CodeLockBroken, "operation."+op.Name, here.Place)
		default:
			add(assess.CodeOutOfOrder, "operation."+op.Name, here.Place)
		}
	}
	return ids
}

// because says what keeps an operation from being done now; nothing for one that may be
// done, or is.
func (s *sheet) because(here assess.Operation) []assess.Reason {
	for i := range s.A.Blocked {
		if s.A.Blocked[i].Operation == here {
			return s.A.Blocked[i].Because
		}
	}
	return nil
}

// closes lists the spaces that an operation closes, as they stand.
func (s *sheet) closes(op *pack.Operation, place string) []*assess.Space {
	var list []*assess.Space
	for _, name := range op.Closes {
		name = strings.TrimPrefix(name, "space.")
		at := ""
		for _, x := range s.pack.Spaces {
			if x.Name == name {
				at = x.At
			}
		}
		for _, member := range s.reach(op.At, place, at) {
			for i := range s.A.Spaces {
				if x := &s.A.Spaces[i]; x.Name == name && x.Place == member {
					list = append(list, x)
				}
			}
		}
	}
	return list
}

// hidden are the fields of a body as a form sends them, by their names in the journal.
type hidden struct{ Name, Value string }

// eventOf writes a body as the fields of an event, without who and when, and without
// the fields that the person fills in, which may hold anything.
func eventOf(body any, without ...string) map[string]any {
	line, err := journal.New("x", time.Unix(0, 0), "", body).Encode()
	if err != nil {
		panic(err) // a form of ours whose body lacks a field
	}
	fields := map[string]any{}
	if err := json.Unmarshal(line, &fields); err != nil {
		panic(err) // a line of ours that cannot be read
	}
	for _, name := range append(without, "id", "at", "by") {
		delete(fields, name)
	}
	return fields
}

func hiddenOf(body any, without ...string) []hidden {
	var list []hidden
	for name, value := range eventOf(body, without...) {
		switch v := value.(type) {
		case string:
			list = append(list, hidden{name, v})
		case float64:
			list = append(list, hidden{name, strconv.FormatFloat(v, 'f', -1, 64)})
		case bool:
			list = append(list, hidden{name, strconv.FormatBool(v)})
		}
	}
	sort.Slice(list, func(a, b int) bool { return list[a].Name < list[b].Name })
	return list
}

// outboxOf is a body as a form keeps it for when the computer cannot be reached.
func outboxOf(body any, without ...string) string {
	text, err := json.Marshal(eventOf(body, without...))
	if err != nil {
		panic(err)
	}
	return string(text)
}
