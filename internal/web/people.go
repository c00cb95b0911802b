package web

import (
	"fmt"
	"net/http"

	"buttonup/internal/shop"
	"buttonup/words"
)

type peopleView struct {
	view
	Shop    *shop.State
	Here    bool
	At      *shop.Person
	Device  string
	Mistake string
}

// people shows who works here and who is at this device.
func (s *Server) people(w http.ResponseWriter, r *http.Request) {
	s.showPeople(w, r, http.StatusOK, "")
}

func (s *Server) showPeople(w http.ResponseWriter, r *http.Request, status int, mistake string) {
	c := callerOf(r)
	p := &peopleView{view: s.view(r, "people", nil), Shop: s.house.now(), Here: c.here, At: s.person(r), Device: by, Mistake: mistake}
	p.Title = "People"
	p.Also = []string{"shop.css"}
	if c.device != nil {
		p.Device = c.device.Name
	}
	s.show(w, r, status, peoplePage(p))
}

func anyPIN(state *shop.State) bool {
	for _, p := range state.People {
		if p.PIN != "" {
			return true
		}
	}
	return false
}

// keepPerson adds a person, or gives one another PIN.
func (s *Server) keepPerson(w http.ResponseWriter, r *http.Request) {
	id, pin := r.PostForm.Get("person"), r.PostForm.Get("pin")
	p := shop.Person{ID: s.record.NewID()}
	if id != "" {
		old := s.house.now().Person(id)
		if old == nil {
			s.showPeople(w, r, http.StatusConflict, "That person is no longer in the list.")
			return
		}
		p = *old
	} else {
		p.Name = cleanName(r.PostForm.Get("name"))
		if p.Name == "" {
			s.showPeople(w, r, http.StatusUnprocessableEntity, "Write a name: it stands beside what this person enters.")
			return
		}
		if free := s.freeName(p.Name); free != p.Name {
			s.showPeople(w, r, http.StatusConflict, "There is a "+p.Name+" already. Add something to tell them apart.")
			return
		}
	}
	if pin != "" || id != "" {
		if !shop.SoundPIN(pin) {
			s.showPeople(w, r, http.StatusUnprocessableEntity, "A PIN has 4 to 12 digits. Nothing was changed.")
			return
		}
		hash, err := shop.HashPIN(pin, s.secret, s.options.Random)
		if err != nil {
			s.failed(w, r, err)
			return
		}
		p.PIN = hash
	}
	if err := s.house.settle(r.Context(), shop.KindPerson, p); err != nil {
		s.failed(w, r, err)
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// personGone takes somebody off the list. What they entered stays as it is.
func (s *Server) personGone(w http.ResponseWriter, r *http.Request) {
	if err := s.house.settle(r.Context(), shop.KindPersonGone, shop.Gone{ID: r.PostForm.Get("person")}); err != nil {
		s.failed(w, r, err)
		return
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
}

// atThisDevice says who is at the device, with a PIN where that is asked for.
func (s *Server) atThisDevice(w http.ResponseWriter, r *http.Request) {
	state, c, now := s.house.now(), callerOf(r), s.options.Now()
	at := shop.AtDevice{Device: shop.Here, Person: r.PostForm.Get("person")}
	if c.device != nil {
		at.Device = c.device.ID
	}
	p := state.Person(at.Person)
	switch {
	case at.Person == "": // nobody in particular
	case p == nil:
		s.showPeople(w, r, http.StatusConflict, "That person is no longer in the list.")
		return
	case state.On(shop.SettingPINs):
		if p.PIN == "" {
			s.showPeople(w, r, http.StatusForbidden, p.Name+" has no PIN yet. It is given on the shop's computer.")
			return
		}
		if wait := s.tries.Begin(p.ID, now); wait > 0 {
			s.showPeople(w, r, http.StatusTooManyRequests, fmt.Sprintf("Too many wrong PINs. Wait %s.", words.Count(int(wait.Seconds())+1, "second", "seconds")))
			return
		}
		if !shop.IsPIN(r.PostForm.Get("pin"), p.PIN, s.secret) {
			s.showPeople(w, r, http.StatusForbidden, "That is not the PIN of "+p.Name+".")
			return
		}
		s.tries.Right(p.ID)
		at.Proven = true
	}
	if err := s.house.settle(r.Context(), shop.KindAtDevice, at); err != nil {
		s.failed(w, r, err)
		return
	}
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
}
