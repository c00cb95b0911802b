package web

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"log"
	"net"
	"net/http"
	"slices"
	"strings"
	"time"

	"buttonup/internal/authority"
	"buttonup/internal/shop"
)

// caller is who sends a request, as far as that is known.
type caller struct {
	// here is true for a browser on this computer itself that names it so.
	here bool
	// encrypted is true for a request that nobody else on the network can read.
	encrypted bool
	// device is the paired device, or nil.
	device *shop.Device
}

// paired says whether the record is open to a caller.
func (c caller) paired() bool { return c.here || c.device != nil }

type callerKey struct{}

// callerOf returns who sends a request that went through the guard.
func callerOf(r *http.Request) caller {
	c, _ := r.Context().Value(callerKey{}).(caller)
	return c
}

// The cookies of a paired device. The one for https has a name that a browser takes
// only from https and only for this very host; the other opens only what is plain.
const (
	cookieSecure = "__Host-buttonup"
	cookiePlain  = "buttonup_plain"
)

func cookieDevice(encrypted bool) string {
	if encrypted {
		return cookieSecure
	}
	return cookiePlain
}

// identify finds out who sends a request.
func (s *Server) identify(r *http.Request) caller {
	c := caller{encrypted: r.TLS != nil}
	if isLoopbackHost(r.Host) && isLoopbackAddress(r.RemoteAddr) {
		c.here = true
		return c
	}
	if cookie, err := r.Cookie(cookieDevice(c.encrypted)); err == nil {
		c.device = s.house.now().Holder(cookie.Value, c.encrypted)
	}
	return c
}

func isLoopbackAddress(address string) bool {
	ip := addressOf(address)
	return ip != nil && ip.IsLoopback()
}

// addressOf returns the address of a connection's other end.
func addressOf(address string) net.IP {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil
	}
	host, _, _ = strings.Cut(host, "%") // the zone of a link-local address
	return net.ParseIP(host)
}

// namesFresh is how long the names of the machine are taken to stand: a router can
// give it another address at any time.
const namesFresh = 10 * time.Second

// names returns how this machine is reached.
func (s *Server) names() authority.Names {
	s.nameLock.Lock()
	defer s.nameLock.Unlock()
	if now := time.Now(); now.Sub(s.namesAt) > namesFresh {
		s.namesNow, s.namesAt = s.options.Names(), now
		if s.keys != nil {
			s.keys.Rename(s.namesNow)
		}
	}
	return s.namesNow
}

// isOurName says whether the host of a request is a name of this machine. A page of
// the outside world that makes its own name point here is refused by this.
func (s *Server) isOurName(host string) bool {
	name, ok := hostName(host)
	if !ok {
		return false
	}
	n := s.names()
	if ip := net.ParseIP(name); ip != nil {
		return ip.IsLoopback() || slices.ContainsFunc(n.Addresses, ip.Equal)
	}
	return n.Host != "" && (strings.EqualFold(name, n.Host) || strings.EqualFold(name, n.Local())) || strings.EqualFold(name, "localhost")
}

// authority returns what vouches for this machine, or nil as long as no other device
// can reach it.
func (s *Server) authority() *authority.Authority {
	s.nameLock.Lock()
	defer s.nameLock.Unlock()
	return s.keys
}

// openKeys makes the authority ready.
func (s *Server) openKeys() error {
	s.nameLock.Lock()
	defer s.nameLock.Unlock()
	if s.keys != nil || s.options.Authority == nil {
		return nil
	}
	keys, err := s.options.Authority()
	s.keys = keys
	return err
}

// still says whether a caller that was let in would be let in now.
func (s *Server) still(r *http.Request) bool {
	c := callerOf(r)
	if c.here {
		return true
	}
	state := s.house.now()
	return !s.shut.Load() && c.device != nil && state.Device(c.device.ID) != nil && (c.encrypted || state.On(shop.SettingPlain))
}

// tokenFor returns what a form on a page for this request must send back. It is bound
// to the device, so that no device can make a form for another.
func (s *Server) tokenFor(r *http.Request) string {
	switch c := callerOf(r); {
	case c.here:
		return s.token
	case c.device != nil:
		return s.bound("form:" + c.device.ID)
	}
	return s.bound("form of nobody")
}

// bound makes a text that only this machine can make.
func (s *Server) bound(what string) string {
	m := hmac.New(sha256.New, s.secret)
	m.Write([]byte(what))
	return hex.EncodeToString(m.Sum(nil)[:16])
}

// withCaller notes who sends a request.
func withCaller(r *http.Request, c caller) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), callerKey{}, c))
}

// quiet is a log that keeps nothing: what strangers on a network send is no news.
func (s *Server) quiet() *log.Logger { return log.New(silence{}, "", 0) }

type silence struct{}

func (silence) Write(b []byte) (int, error) { return len(b), nil }
