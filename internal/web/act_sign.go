package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"buttonup/assess"
	"buttonup/internal/book"
	"buttonup/internal/shop"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

func (s *Server) signRoutes(m *http.ServeMux) {
	m.HandleFunc("POST /job/{job}/sign", hurry(s.sign))
}

// signView is who looked at a step besides the one who does it, and who signed it off.
// Both are off until the shop switches them on.
type signView struct {
	// SecondWanted and SigningWanted are set where the shop wants them of this step.
	SecondWanted, SigningWanted bool
	// Second and Signed are the looks that count, nil for none; Lapsed is a second look
	// before something that is held was read or looked at again.
	Second, Lapsed, Signed *journal.ApprovalRecord
	// Back is when it was read back with cold eyes.
	Back *journal.ApprovalRecord
	// People may give a look; where there are none a name is written.
	People []shop.Person
	Done   bool
}

// Missing says that the step waits for a second person.
func (v signView) Missing() bool { return v.SecondWanted && v.Second == nil }

// isHeld says whether a step is one that somebody else looks at: it is held, or it closes
// something.
func isHeld(op *pack.Operation) bool { return len(op.Holds) > 0 || len(op.Closes) > 0 }

func (s *Server) signing(r *http.Request, d *doView) signView {
	state := s.house.now()
	v := signView{People: state.People, Done: d.Done != nil}
	if !isHeld(d.Op) {
		return v
	}
	v.SecondWanted, v.SigningWanted = state.On(shop.SettingSecond), state.On(shop.SettingSigning)
	v.Second, v.Lapsed = d.Sheet.secondLook(d.Op, d.Here)
	v.Back = d.Sheet.look(book.ReadBack, d.Here)
	if d.Done != nil {
		if x := d.Sheet.look(book.SignedOff, d.Here); x != nil && x.Seq > d.Done.Seq {
			v.Signed = x
		}
	}
	return v
}

// lookOf is what an approval of a step is called in the journal.
func lookOf(act string, here assess.Operation) string { return act + ": " + here.String() }

// look is the newest approval of a kind of a step since it was last taken back.
func (s *sheet) look(act string, here assess.Operation) *journal.ApprovalRecord {
	since := 0
	for i := range s.State.Operations {
		o := &s.State.Operations[i]
		if strings.TrimPrefix(o.Operation, "operation.") == here.Name && o.Place == here.Place && o.State == journal.Undone {
			since = o.Seq
		}
	}
	for i := len(s.State.Approvals) - 1; i >= 0; i-- {
		if x := &s.State.Approvals[i]; x.What == lookOf(act, here) && x.Seq > since {
			return x
		}
	}
	return nil
}

// secondLook is the second person's look at a step. It lapses when something that the
// step holds is read or looked at again after it.
func (s *sheet) secondLook(op *pack.Operation, here assess.Operation) (counts, lapsed *journal.ApprovalRecord) {
	x := s.look(book.SecondLook, here)
	if x == nil {
		return nil, nil
	}
	held := map[string]bool{}
	for _, h := range op.Holds {
		held[h.Kind+"."+h.Name] = true
	}
	touches := func(reference, place string) bool {
		kind, name, _ := strings.Cut(reference, ".")
		if held[reference] {
			return true
		}
		return kind == "dimension" && slices.ContainsFunc(s.pack.UsedIn(name, place), func(u string) bool {
			of, _, _ := strings.Cut(u, " ")
			return held[of]
		})
	}
	for i := len(s.State.Readings) - 1; i >= 0 && s.State.Readings[i].Seq > x.Seq; i-- {
		if r := &s.State.Readings[i]; touches("dimension."+strings.TrimPrefix(r.Of, "dimension."), r.Place) {
			return nil, x
		}
	}
	for i := len(s.State.Checks) - 1; i >= 0 && s.State.Checks[i].Seq > x.Seq; i-- {
		if touches("check."+strings.TrimPrefix(s.State.Checks[i].Of, "check."), s.State.Checks[i].Place) {
			return nil, x
		}
	}
	return x, nil
}

// unseen refuses to write that a step was done at which nobody looked besides, where the
// shop wants that, or only the one who says that it was done.
func (s *Server) unseen(r *http.Request, sh *sheet, bodies []any) *trouble {
	if !s.house.now().On(shop.SettingSecond) {
		return nil
	}
	for _, body := range bodies {
		o, ok := body.(journal.Operation)
		if !ok || o.State != journal.Done {
			continue
		}
		op, here := sh.operation(o.Operation), assess.Operation{Name: o.Operation, Place: o.Place}
		if op == nil || !isHeld(op) {
			continue
		}
		x, _ := sh.secondLook(op, here)
		switch {
		case x == nil:
			t := unusable("“"+words.Operation(sh.pack.Pack, here)+"” wants a second person to look first.", "Let somebody else look and sign on its page, or go on without and say why. Nothing was kept.")
			return &t
		case x.Who == s.who(r):
			t := unusable(x.Who+" gave the second look, so somebody else does the step.", "Say on the page People who is at this device. Nothing was kept.")
			return &t
		}
	}
	return nil
}

// sign records who looked at a step or signs it off: by name, and by PIN where the person
// has one. It needs the computer, because a PIN is proven there.
func (s *Server) sign(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	form, state := r.PostForm, s.house.now()
	op, here, act := sh.operation(form.Get("operation")), assess.Operation{Name: form.Get("operation"), Place: form.Get("place")}, form.Get("act")
	if op == nil || !sh.isPlace(op.At, here.Place) || !slices.Contains([]string{book.SecondLook, book.SignedOff, book.ReadBack}, act) {
		s.trouble(w, r, *noSuch("step"))
		return
	}
	who, refused := s.signer(r, state)
	switch {
	case refused != nil:
	case act == book.SecondLook && who == s.who(r):
		t := unusable("A second person is somebody else than "+who+".", "Let another look and sign. Nothing was kept.")
		refused = &t
	case act == book.SignedOff && !sh.isDone(here):
		t := unusable("It is not done yet.", "Do it first, then sign it off. Nothing was kept.")
		refused = &t
	}
	if refused != nil {
		s.trouble(w, r, *refused)
		return
	}
	s.append(w, r, sh, []any{journal.Approval{What: lookOf(act, here), Who: who}}, ownPath(form.Get("back")))
}

// signer is who signs, proven where there is a PIN.
func (s *Server) signer(r *http.Request, state *shop.State) (string, *trouble) {
	no := func(says, do string) (string, *trouble) {
		t := unusable(says, do)
		return "", &t
	}
	id := r.PostForm.Get("person")
	if id == "" {
		name := cleanName(r.PostForm.Get("name"))
		if name == "" {
			return no("Nobody signed.", "Choose who looks, or write the name. Nothing was kept.")
		}
		if slices.ContainsFunc(state.People, func(p shop.Person) bool { return strings.EqualFold(p.Name, name) && p.PIN != "" }) {
			return no(name+" has a PIN and signs with it.", "Choose the name from the list. Nothing was kept.")
		}
		return name, nil
	}
	p := state.Person(id)
	if p == nil {
		return no("That person is no longer in the list.", "Open the page again. Nothing was kept.")
	}
	if p.PIN == "" {
		return p.Name, nil
	}
	if wait := s.tries.Begin(p.ID, s.options.Now()); wait > 0 {
		return no(fmt.Sprintf("Too many wrong PINs. Wait %s.", words.Count(int(wait.Seconds())+1, "second", "seconds")), "Nothing was kept.")
	}
	if !shop.IsPIN(r.PostForm.Get("pin"), p.PIN, s.secret) {
		return no("That is not the PIN of "+p.Name+".", "Go back and type it again. Nothing was kept.")
	}
	s.tries.Right(p.ID)
	return p.Name, nil
}

// isProvenLook says whether an event is somebody's look that only sign may write.
func isProvenLook(e *journal.Event) bool {
	a, ok := e.Body.(journal.Approval)
	if !ok {
		return false
	}
	act, _, ok := book.SignedStep(a.What)
	return ok && act != book.ReadBack
}
