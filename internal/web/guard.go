package web

import (
	"crypto/subtle"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"buttonup/internal/authority"
	"buttonup/internal/shop"
)

// Limits on what a request may bring and how long it may take.
const (
	largestForm   = 64 << 10
	readTimeout   = 15 * time.Second
	answerTimeout = 30 * time.Second
	photoTimeout  = time.Minute
	headerTimeout = 5 * time.Second
	idleTimeout   = 2 * time.Minute
	largestHeader = 16 << 10
)

// policy is what a page may load and do: itself, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// guard stands before every route.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Permissions-Policy", "geolocation=(), microphone=(), camera=(self)")
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.fault(w, r, p)
			}
		}()
		c := s.identify(r)
		r = withCaller(r, c)
		if !c.here && !s.lets(w, r, c) {
			return
		}
		if r.Method != http.MethodGet && r.Method != http.MethodHead {
			if !s.passesOrigin(w, r) {
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

// hostName takes the port off the host of a request.
func hostName(host string) (name string, ok bool) {
	h, port, err := net.SplitHostPort(host)
	if err == nil {
		return h, port != "" && strings.TrimLeft(port, "0123456789") == ""
	}
	if strings.HasPrefix(host, "[") && strings.HasSuffix(host, "]") {
		return host[1 : len(host)-1], true
	}
	return host, !strings.Contains(host, ":")
}

// isLoopbackHost says whether the host of a request names this machine itself, with
// or without a port.
func isLoopbackHost(host string) bool {
	name, ok := hostName(host)
	if !ok {
		return false
	}
	return name == "127.0.0.1" || strings.EqualFold(name, "localhost") || name == "::1"
}

// passesOrigin lets a change through only when a page of ours sent it. It answers
// the request itself when it does not.
func (s *Server) passesOrigin(w http.ResponseWriter, r *http.Request) bool {
	if !sameOrigin(r) {
		s.trouble(w, r, forbidden("This change did not come from a page of Buttonup.", "Open Buttonup itself and enter it there. Nothing was kept."))
		return false
	}
	// A recorder in a test has no deadline, and needs none.
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(readTimeout))
	if isPhoto(r) {
		_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(photoTimeout))
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(photoTimeout + answerTimeout))
	}
	if !isForm(r) {
		// A script of ours: its token stands in a header, which no form of another site
		// can send.
		r.Body = http.MaxBytesReader(w, r.Body, largestBody(r))
		if !s.isToken(r, r.Header.Get(headerToken)) {
			refuseJSON(w, http.StatusForbidden, "Buttonup was started again since this page was opened.")
			return false
		}
		return true
	}
	r.Body = http.MaxBytesReader(w, r.Body, largestBody(r))
	if err := parseForm(r); err != nil {
		s.trouble(w, r, tooLarge())
		return false
	}
	if !s.isToken(r, r.PostForm.Get("token")) {
		s.trouble(w, r, forbidden("Buttonup was started again since this page was opened.", "Open the page again, then enter it once more. Nothing was kept."))
		return false
	}
	return true
}

// headerToken is where a script of ours puts the token.
const headerToken = "X-Buttonup-Token"

func (s *Server) isToken(r *http.Request, said string) bool {
	return subtle.ConstantTimeCompare([]byte(said), []byte(s.tokenFor(r))) == 1
}

// isForm says whether a request is what a form sends.
func isForm(r *http.Request) bool {
	kind := mediaType(r)
	return kind == "" || kind == "application/x-www-form-urlencoded" || kind == "multipart/form-data" && (isPhoto(r) || isTable(r))
}

func mediaType(r *http.Request) string {
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil {
		return ""
	}
	return kind
}

func parseForm(r *http.Request) error {
	if mediaType(r) == "multipart/form-data" {
		// More than a form has in words stays on the disk until the answer is given.
		return r.ParseMultipartForm(largestForm)
	}
	return r.ParseForm()
}

// isPhoto says whether a request brings a photo.
func isPhoto(r *http.Request) bool {
	return r.URL.Path == "/photos" || strings.HasPrefix(r.URL.Path, "/job/") && strings.HasSuffix(r.URL.Path, "/photo")
}

// largestBody is how much a request may bring.
func largestBody(r *http.Request) int64 {
	switch {
	case isPhoto(r):
		return largestPhoto
	case isTable(r):
		return largestReadings
	case !isForm(r) && strings.HasSuffix(r.URL.Path, "/events"):
		return largestDelivery
	}
	return largestForm
}

// sameOrigin says whether a browser names one of our own pages as the sender.
func sameOrigin(r *http.Request) bool {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
		return false
	}
	if origin := r.Header.Get("Origin"); origin != "" {
		u, err := url.Parse(origin)
		return err == nil && u.Scheme == schemeOf(r) && strings.EqualFold(u.Host, r.Host)
	}
	return r.Header.Get("Sec-Fetch-Site") == "same-origin"
}

func schemeOf(r *http.Request) string {
	if r.TLS != nil {
		return "https"
	}
	return "http"
}

// lets says whether a request from another device goes on to the pages. It answers the
// request itself when it does not.
func (s *Server) lets(w http.ResponseWriter, r *http.Request, c caller) bool {
	from := addressOf(r.RemoteAddr)
	if s.shut.Load() || !s.isOurName(r.Host) || from == nil || !authority.IsPrivate(from) {
		s.trouble(w, r, forbidden("Buttonup does not answer under this name.",
			"On this computer open it as http://127.0.0.1 or http://localhost with its port; on a phone use the address that the page Devices shows."))
		return false
	}
	switch {
	case isOpenToAll(r.URL.Path):
		return true
	case !c.encrypted && !s.house.now().On(shop.SettingPlain):
		if r.Method == http.MethodGet {
			http.Redirect(w, r, "/trust", http.StatusSeeOther)
			return false
		}
		refuseJSON(w, http.StatusForbidden, "This computer answers phones over https only.")
		return false
	case strings.HasPrefix(r.URL.Path, "/pair"), c.device != nil:
		return true
	}
	s.askToPair(w, r, http.StatusUnauthorized, "")
	return false
}

// isOpenToAll says whether an address holds nothing of the record: how a device comes
// to trust this one, and what pages look like.
func isOpenToAll(path string) bool {
	return path == "/trust" || path == "/trust/buttonup.crt" || strings.HasPrefix(path, assetFolder)
}

// hurry sets the time that an answer may take. Streams do without.
func hurry(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		_ = c.SetWriteDeadline(time.Now().Add(answerTimeout))
		next(w, r)
	}
}
