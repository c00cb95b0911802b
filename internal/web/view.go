package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"buttonup/quantity"
)

// view is what every page knows.
type view struct {
	Title string
	// At is the place in the navigation.
	At     string
	Theme  string // "light", "dark" or "" for what the device says
	System quantity.System
	Token  string
	// Path is where the page is, to come back to.
	Path  string
	Shop  string
	Demo  bool
	Now   time.Time
	Sheet *sheet
	// Seq is the number of the newest event that the page shows.
	Seq int64
	// Also names the style sheets and scripts of assets that this page needs beside
	// those of every page.
	Also []string
	// NewKey makes the name of an entry that a form of the page may write.
	NewKey func() string
	// Device is the name of the paired device that shows the page, "" on this computer.
	Device string
	// AtDesk is true on the shop's computer itself.
	AtDesk bool
	// Plain is true where others on the network can read along.
	Plain bool
	// Who is under whose name an entry made here would stand.
	Who string
}

const (
	cookieTheme = "buttonup_theme"
	cookieUnits = "buttonup_units"
)

func (s *Server) view(r *http.Request, at string, sh *sheet) view {
	v := view{At: at, Token: s.tokenFor(r), Path: r.URL.RequestURI(), Shop: s.options.Shop, Demo: s.options.Demo, Now: s.options.Now(), Sheet: sh, NewKey: s.record.NewID}
	if c := callerOf(r); c.device != nil {
		v.Device, v.Plain = c.device.Name, !c.encrypted
	}
	v.Who, v.AtDesk = s.who(r), callerOf(r).here
	if !callerOf(r).paired() {
		v.Shop, v.Demo = "", false // strangers are told nothing of the shop
	}
	if r.Method != http.MethodGet {
		v.Path = r.URL.Path
	}
	if sh != nil {
		v.System, v.Seq = sh.pack.Units, sh.Seq
	}
	if c, err := r.Cookie(cookieTheme); err == nil && (c.Value == "light" || c.Value == "dark") {
		v.Theme = c.Value
	}
	if c, err := r.Cookie(cookieUnits); err == nil {
		switch c.Value {
		case "mm":
			v.System = quantity.Metric
		case "in":
			v.System = quantity.Inch
		}
	}
	return v
}

// look changes how pages look on this device: the units and the ground.
func (s *Server) look(w http.ResponseWriter, r *http.Request) {
	set := func(name, value string, allowed ...string) {
		for _, a := range allowed {
			if value == a {
				http.SetCookie(w, &http.Cookie{Name: name, Value: value, Path: "/", MaxAge: 400 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode})
			}
		}
	}
	set(cookieTheme, r.PostForm.Get("theme"), "light", "dark", "device")
	set(cookieUnits, r.PostForm.Get("units"), "mm", "in")
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
}

// ownPath keeps a way back on this server.
func ownPath(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.ContainsAny(back, "\\\r\n\t") {
		return "/"
	}
	return u.RequestURI()
}

// jobID is the job that a page is about, or nothing.
func jobID(v view) string {
	if v.Sheet == nil {
		return ""
	}
	return v.Sheet.Job.ID
}

// jobPath is the address of a page of a job.
func jobPath(id string, parts ...string) string {
	path := "/job/" + url.PathEscape(id)
	for _, p := range parts {
		path += "/" + url.PathEscape(p)
	}
	return path
}

// query adds what is not empty to an address.
func query(path string, pairs ...string) string {
	q := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			q.Set(pairs[i], pairs[i+1])
		}
	}
	if len(q) == 0 {
		return path
	}
	return path + "?" + q.Encode()
}
