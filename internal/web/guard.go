package web

import (
	"crypto/subtle"
	"mime"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// Limits on what a request may bring and how long it may take.
const (
	largestForm   = 64 << 10
	readTimeout   = 15 * time.Second
	answerTimeout = 30 * time.Second
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
		defer func() {
			if p := recover(); p != nil {
				if p == http.ErrAbortHandler {
					panic(p)
				}
				s.fault(w, r, p)
			}
		}()
		if !isLoopbackHost(r.Host) {
			s.trouble(w, r, forbidden("Buttonup answers only on this computer.",
				"Open it as http://127.0.0.1 or http://localhost with its port. Other devices need pairing, which this version does not have."))
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

// isLoopbackHost says whether the host of a request names this machine itself, with
// or without a port.
func isLoopbackHost(host string) bool {
	name := host
	if h, port, err := net.SplitHostPort(host); err == nil {
		if port == "" || strings.TrimLeft(port, "0123456789") != "" {
			return false
		}
		name = h
	} else if strings.HasPrefix(host, "[") && strings.HasSuffix(host, "]") {
		name = host[1 : len(host)-1]
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
	r.Body = http.MaxBytesReader(w, r.Body, largestForm)
	if err := r.ParseForm(); err != nil {
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
	kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err != nil || kind == "application/x-www-form-urlencoded"
}

// largestBody is how much a script of ours may send to where it sends it.
func largestBody(r *http.Request) int64 {
	if strings.HasSuffix(r.URL.Path, "/events") {
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
		return err == nil && u.Scheme == "http" && strings.EqualFold(u.Host, r.Host)
	}
	return r.Header.Get("Sec-Fetch-Site") == "same-origin"
}

// hurry sets the time that an answer may take. Streams do without.
func hurry(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		c := http.NewResponseController(w)
		_ = c.SetWriteDeadline(time.Now().Add(answerTimeout))
		next(w, r)
	}
}
