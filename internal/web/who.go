package web

import (
	"net/http"
	"slices"
	"time"

	"buttonup/internal/shop"
)

// atDevice is how long a person is taken to be at a device after giving a PIN.
const atDevice = 12 * time.Hour

// person returns who is at the device that sends a request, or nil.
func (s *Server) person(r *http.Request) *shop.Person {
	state := s.house.now()
	at := state.Here
	if c := callerOf(r); c.device != nil {
		at = c.device.At
	}
	if at.Person == "" || state.On(shop.SettingPINs) && s.options.Now().Sub(at.Since) > atDevice {
		return nil
	}
	p := state.Person(at.Person)
	if p != nil && state.On(shop.SettingPINs) && (p.PIN == "" || !at.Proven) {
		return nil
	}
	return p
}

// who returns the name under which a request writes: of the person, else of the device,
// else of the bench.
func (s *Server) who(r *http.Request) string {
	if p := s.person(r); p != nil {
		return p.Name
	}
	if c := callerOf(r); c.device != nil {
		return c.device.Name
	}
	return by
}

// mayWriteAs says whether an entry of this device may carry a name, as one that was
// kept on the device while somebody else was at it.
func (s *Server) mayWriteAs(r *http.Request, name string) bool {
	if name == "" {
		return false
	}
	if c := callerOf(r); c.device != nil {
		return slices.Contains(c.device.Names, name)
	}
	return slices.Contains(s.house.now().Here.Names, name)
}
