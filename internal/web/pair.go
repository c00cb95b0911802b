package web

import (
	"encoding/base64"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	"buttonup/internal/qr"
	"buttonup/internal/shop"
	"buttonup/words"
)

const (
	// keepCookie is how long a device need not be paired again.
	keepCookie = 400 * 24 * time.Hour
	// longestName is how long the name of a device or person may be.
	longestName = 40
	// mostDevices bounds how many devices are paired at a time.
	mostDevices = 100
)

// pairing is the code that stands on the screen of this computer now.
type pairing struct {
	codes shop.Codes

	mu    sync.Mutex
	shown string
}

func (p *pairing) show(code string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.shown = code
}

// code returns the code that may be used now, and how long.
func (p *pairing) code(now time.Time) (string, time.Duration) {
	left := p.codes.Left(now)
	p.mu.Lock()
	defer p.mu.Unlock()
	if left == 0 {
		p.shown = ""
	}
	return p.shown, left
}

// shopRoutes are the pages about devices and people.
func (s *Server) shopRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /devices", hurry(s.devices))
	m.HandleFunc("POST /devices/code", hurry(s.hereOnly(s.newCode)))
	m.HandleFunc("POST /devices/gone", hurry(s.sendAway))
	m.HandleFunc("POST /devices/set", hurry(s.hereOnly(s.set)))
	m.HandleFunc("GET /pair", hurry(s.pairPage))
	m.HandleFunc("GET /pair/{code}", hurry(s.pairPage))
	m.HandleFunc("POST /pair", hurry(s.pair))
	m.HandleFunc("GET /trust", hurry(s.trustPage))
	m.HandleFunc("GET /trust/buttonup.crt", hurry(s.certificate))
	m.HandleFunc("GET /people", hurry(s.people))
	m.HandleFunc("POST /people", hurry(s.hereOnly(s.keepPerson)))
	m.HandleFunc("POST /people/gone", hurry(s.hereOnly(s.personGone)))
	m.HandleFunc("POST /people/at", hurry(s.atThisDevice))
	m.HandleFunc("POST /photos", hurry(s.takePhoto))
	m.HandleFunc("GET /photo/{sha}", hurry(s.photo))
	m.HandleFunc("GET /photo/{sha}/small", hurry(s.photo))
	m.HandleFunc("GET /job/{job}/photos", hurry(s.photos))
	m.HandleFunc("POST /job/{job}/photo", hurry(s.keepPhoto))
	m.HandleFunc("GET /sw.js", hurry(s.serviceWorker))
	m.HandleFunc("GET /offline", hurry(s.offline))
}

// hereOnly keeps what settles who may come in to the computer itself.
func (s *Server) hereOnly(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if !callerOf(r).here {
			s.trouble(w, r, forbidden("That is settled on the shop's computer itself.", "Open the page Devices or People there."))
			return
		}
		next(w, r)
	}
}

type devicesView struct {
	view
	Shop *shop.State
	Here bool
	Own  *shop.Device
	Open bool
	// Addresses are where phones reach this computer, the best first.
	Addresses []string
	Code      string
	Left      time.Duration
	QR        string
	At        int
	Secure    bool
	Mistake   string
}

// devices shows who may come in, and lets another device in.
func (s *Server) devices(w http.ResponseWriter, r *http.Request) {
	s.show(w, r, http.StatusOK, devicesPage(s.devicesView(r, "")))
}

func (s *Server) devicesView(r *http.Request, mistake string) *devicesView {
	c := callerOf(r)
	d := &devicesView{view: s.view(r, "devices", nil), Shop: s.house.now(), Here: c.here, Own: c.device, Open: s.isOpen(), Secure: s.authority() != nil, Mistake: mistake}
	d.Title = "Devices"
	d.Also = []string{"shop.css"}
	if !d.Here {
		return d
	}
	d.Addresses = s.addresses()
	if n, err := strconv.Atoi(r.URL.Query().Get("way")); err == nil && n >= 0 && n < len(d.Addresses) {
		d.At = n
	}
	if d.Code, d.Left = s.pairing.code(s.options.Now()); d.Code != "" && len(d.Addresses) > 0 {
		d.QR = drawQR(d.Addresses[d.At] + "/pair/" + strings.ReplaceAll(d.Code, "-", ""))
	}
	return d
}

// addresses lists where phones reach this computer. An address that is a number works
// on every phone; the name stays the same when the router gives out other numbers.
func (s *Server) addresses() []string {
	if s.gate == nil || s.gate.address() == nil {
		return nil
	}
	scheme, port := "https://", strconv.Itoa(s.gate.address().Port)
	if s.authority() == nil {
		scheme = "http://"
	}
	n := s.names()
	var list []string
	for _, ip := range n.Addresses {
		if ip.To4() != nil {
			list = append(list, scheme+net.JoinHostPort(ip.String(), port))
		}
	}
	if local := n.Local(); local != "" {
		list = append(list, scheme+net.JoinHostPort(local, port))
	}
	if s.authority() != nil && s.house.now().On(shop.SettingPlain) {
		for _, a := range list {
			list = append(list, "http"+strings.TrimPrefix(a, "https"))
		}
	}
	return list
}

// newCode puts a new code on the screen. It opens the port where that was not done.
func (s *Server) newCode(w http.ResponseWriter, r *http.Request) {
	if !s.isOpen() {
		s.show(w, r, http.StatusConflict, devicesPage(s.devicesView(r, "Let phones in first: nothing can reach this computer yet.")))
		return
	}
	if len(s.house.now().Devices) >= mostDevices {
		s.show(w, r, http.StatusConflict, devicesPage(s.devicesView(r, "A hundred devices are paired. Send those away that are no longer used.")))
		return
	}
	code, err := s.pairing.codes.New(s.options.Random, s.options.Now())
	if err != nil {
		s.failed(w, r, err)
		return
	}
	s.pairing.show(code)
	http.Redirect(w, r, "/devices?"+url.Values{"way": {r.PostForm.Get("way")}}.Encode(), http.StatusSeeOther)
}

// set switches a setting.
func (s *Server) set(w http.ResponseWriter, r *http.Request) {
	name, on := r.PostForm.Get("name"), r.PostForm.Get("on") == "true"
	known := false
	for _, n := range shop.Settings {
		known = known || n == name
	}
	if !known {
		s.trouble(w, r, unusable("There is no such setting.", "Open the page again."))
		return
	}
	if name == shop.SettingPINs && on && !anyPIN(s.house.now()) {
		s.trouble(w, r, unusable("Nobody has a PIN yet.", "Give a PIN to each person first, on the page People."))
		return
	}
	if name == shop.SettingOpen {
		if err := s.letIn(on); err != nil {
			s.show(w, r, http.StatusConflict, devicesPage(s.devicesView(r, "That could not be done: "+err.Error()+".")))
			return
		}
	}
	if err := s.house.settle(r.Context(), shop.KindSetting, shop.Setting{Name: name, On: on}); err != nil {
		s.failed(w, r, err)
		return
	}
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
}

// sendAway ends the pairing of a device: any from this computer, its own from a device.
func (s *Server) sendAway(w http.ResponseWriter, r *http.Request) {
	c, id := callerOf(r), r.PostForm.Get("device")
	if c.device != nil {
		id = c.device.ID
	}
	if s.house.now().Device(id) == nil {
		s.trouble(w, r, unusable("There is no such device.", "Open the page again."))
		return
	}
	if err := s.house.settle(r.Context(), shop.KindDeviceGone, shop.Gone{ID: id}); err != nil {
		s.failed(w, r, err)
		return
	}
	if c.device != nil {
		http.SetCookie(w, deviceCookie(c.encrypted, "", -1))
		http.Redirect(w, r, "/pair", http.StatusSeeOther)
		return
	}
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
}

type pairView struct {
	view
	Code, Name, Mistake string
	Plain               bool
}

// pairPage asks for the code, which a phone that read it from the screen has already.
func (s *Server) pairPage(w http.ResponseWriter, r *http.Request) {
	c := callerOf(r)
	switch {
	case c.here:
		http.Redirect(w, r, "/devices", http.StatusSeeOther)
	case c.device != nil:
		http.Redirect(w, r, "/", http.StatusSeeOther)
	default:
		s.askToPair(w, r, http.StatusOK, "")
	}
}

// askToPair is all that a stranger gets to see.
func (s *Server) askToPair(w http.ResponseWriter, r *http.Request, status int, mistake string) {
	p := &pairView{view: s.view(r, "", nil), Code: r.PathValue("code"), Name: deviceName(r.UserAgent()), Mistake: mistake, Plain: !callerOf(r).encrypted}
	if r.Method == http.MethodPost {
		p.Code, p.Name = "", r.PostForm.Get("name")
	}
	p.Title = "Pair this device"
	p.Also = []string{"shop.css"}
	s.show(w, r, status, pairPage(p))
}

// pair takes the code and gives the device its token.
func (s *Server) pair(w http.ResponseWriter, r *http.Request) {
	c, now := callerOf(r), s.options.Now()
	if c.paired() {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	name := cleanName(r.PostForm.Get("name"))
	if name == "" {
		s.askToPair(w, r, http.StatusUnprocessableEntity, "Give this device a name: it stands beside what is entered on it.")
		return
	}
	ok, wait := s.pairing.codes.Use(r.PostForm.Get("code"), addressOf(r.RemoteAddr).String(), now)
	switch {
	case wait > 0:
		w.Header().Set("Retry-After", strconv.Itoa(int(wait.Seconds())+1))
		s.askToPair(w, r, http.StatusTooManyRequests, fmt.Sprintf("Too many tries from here. Wait %d seconds.", int(wait.Seconds())+1))
		return
	case !ok:
		s.askToPair(w, r, http.StatusForbidden, "That is not the code, or it has run out. Look at the shop's screen; a new one is made there by a press.")
		return
	}
	raw := make([]byte, 32)
	if _, err := io.ReadFull(s.options.Random, raw); err != nil {
		s.failed(w, r, err)
		return
	}
	token := base64.RawURLEncoding.EncodeToString(raw)
	d := shop.Device{ID: s.record.NewID(), Name: s.freeName(name), Token: shop.HashToken(token), Plain: !c.encrypted}
	if err := s.house.settle(r.Context(), shop.KindDevice, d); err != nil {
		s.failed(w, r, err)
		return
	}
	http.SetCookie(w, deviceCookie(c.encrypted, token, int(keepCookie.Seconds())))
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

func deviceCookie(encrypted bool, token string, age int) *http.Cookie {
	return &http.Cookie{Name: cookieDevice(encrypted), Value: token, Path: "/", MaxAge: age, HttpOnly: true, Secure: encrypted, SameSite: http.SameSiteStrictMode}
}

// freeName keeps names apart, because they stand in the journal.
func (s *Server) freeName(name string) string {
	state, free := s.house.now(), name
	taken := func(n string) bool {
		if strings.EqualFold(n, by) {
			return true
		}
		for _, d := range state.Devices {
			if strings.EqualFold(d.Name, n) {
				return true
			}
		}
		for _, p := range state.People {
			if strings.EqualFold(p.Name, n) {
				return true
			}
		}
		return false
	}
	for i := 2; taken(free); i++ {
		free = name + " " + strconv.Itoa(i)
	}
	return free
}

// cleanName is a name as it may stand in the journal.
func cleanName(name string) string {
	name = strings.Join(strings.FieldsFunc(name, func(r rune) bool { return unicode.IsSpace(r) || !unicode.IsPrint(r) }), " ")
	if list := []rune(name); len(list) > longestName {
		name = strings.TrimSpace(string(list[:longestName]))
	}
	return name
}

// deviceName proposes a name by what a browser says of itself.
func deviceName(agent string) string {
	for _, c := range []struct{ holds, name string }{
		{"iPad", "tablet"}, {"iPhone", "phone"}, {"Android", "phone"}, {"Windows", "laptop"}, {"Macintosh", "laptop"}, {"Linux", "laptop"},
	} {
		if strings.Contains(agent, c.holds) {
			if c.holds == "Android" && !strings.Contains(agent, "Mobile") {
				return "tablet"
			}
			return c.name
		}
	}
	return "phone"
}

// drawQR draws an address for a phone's camera: dark squares on white, with the four
// squares of white round it that ISO/IEC 18004 asks for.
func drawQR(address string) string {
	squares, err := qr.Squares(address)
	if err != nil {
		return "" // longer than any code holds; the address stands below in words
	}
	const quiet = qr.Quiet
	n := len(squares)
	var path strings.Builder
	for y := range n {
		for x := range n {
			if squares[y][x] {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	return fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="Code for the camera of the phone"><path fill="#fff" d="M0 0h%dv%dH0z"></path><path fill="#000" d="%s"></path></svg>`,
		n+2*quiet, n+2*quiet, 6*(n+2*quiet), 6*(n+2*quiet), n+2*quiet, n+2*quiet, path.String())
}

// trustView is how a phone comes to trust this computer.
type trustView struct {
	view
	Fingerprint string
	Permits     []string
	Address     string
	Plain, Here bool
}

func (s *Server) trustPage(w http.ResponseWriter, r *http.Request) {
	c := callerOf(r)
	t := &trustView{view: s.view(r, "", nil), Plain: s.house.now().On(shop.SettingPlain), Here: c.here}
	t.Title = "So that a phone trusts this computer"
	t.Also = []string{"shop.css"}
	if a := s.authority(); a != nil {
		t.Permits = a.Permits()
		// What a phone shows before it trusts can have been changed on its way, over https
		// too: the digits to compare with stand on the screen of this computer only.
		if c.here {
			t.Fingerprint = a.Fingerprint()
		}
		if c.here {
			if list := s.addresses(); len(list) > 0 {
				t.Address = list[0]
			}
		} else {
			t.Address = "https://" + r.Host
		}
	}
	s.show(w, r, http.StatusOK, trustPage(t))
}

// trustAddress is where a phone that does not trust this computer yet finds out how: it
// can only be a plain one.
func trustAddress(address string) string {
	_, rest, _ := strings.Cut(address, "://")
	return "http://" + rest + "/trust"
}

// certificate is what a phone installs.
func (s *Server) certificate(w http.ResponseWriter, r *http.Request) {
	a := s.authority()
	if a == nil {
		s.trouble(w, r, trouble{http.StatusNotFound, "Not yet", words.Sentence{Says: "No phone can reach this computer yet, so there is nothing to trust.", Do: "Let phones in first, on the page Devices."}})
		return
	}
	h := w.Header()
	h.Set("Content-Type", "application/x-x509-ca-cert")
	h.Set("Content-Disposition", `attachment; filename="buttonup.crt"`)
	h.Set("Cache-Control", "no-store")
	w.Write(a.Certificate())
}
