package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"github.com/a-h/templ"

	"buttonup/words"
)

// Options are what a server takes from outside.
type Options struct {
	// Shop is the name at the head of the bench.
	Shop string
	// Demo marks a folder of invented jobs; every page says so.
	Demo bool
	// Now tells the time; nil is time.Now.
	Now func() time.Time
	// Random is where the token of the process comes from; nil is crypto/rand.
	Random io.Reader
	// Faults is told of a fault of ours, with its trace; nil keeps it nowhere.
	Faults func(says string, trace []byte)
}

// Server is the pages over one record.
type Server struct {
	record  Record
	options Options
	token   string
	desks   desks
	streams atomic.Int64
	closing chan struct{}
	close   sync.Once
	// delivery is held while events are looked up and added.
	delivery sync.Mutex
	handler  http.Handler
}

// New returns the pages over a record. It returns an error when no random token can
// be made.
func New(record Record, o Options) (*Server, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Random == nil {
		o.Random = rand.Reader
	}
	secret := make([]byte, 16)
	if _, err := io.ReadFull(o.Random, secret); err != nil {
		return nil, fmt.Errorf("make the token of the pages: %w", err)
	}
	s := &Server{record: record, options: o, token: hex.EncodeToString(secret), closing: make(chan struct{})}
	s.desks = desks{record: record, now: o.Now}
	m := http.NewServeMux()
	m.HandleFunc("GET "+assetFolder+"{name}", hurry(s.serveAsset))
	m.HandleFunc("GET /{$}", hurry(s.bench))
	m.HandleFunc("GET /job/{job}", hurry(s.job))
	m.HandleFunc("GET /job/{job}/readings", hurry(s.readings))
	m.HandleFunc("GET /job/{job}/read/{of}", hurry(s.entry))
	m.HandleFunc("POST /job/{job}/read/{of}", hurry(s.keep))
	m.HandleFunc("GET /job/{job}/kept/{of}", hurry(s.history))
	m.HandleFunc("POST /job/{job}/strike", hurry(s.strike))
	m.HandleFunc("GET /job/{job}/numbers", hurry(s.numbers))
	m.HandleFunc("GET /job/{job}/events", s.events)
	m.HandleFunc("GET /events", s.events)
	m.HandleFunc("POST /job/{job}/events", hurry(s.take))
	m.HandleFunc("GET /token", hurry(s.giveToken))
	m.HandleFunc("POST /look", hurry(s.look))
	for _, routes := range features {
		routes(s, m)
	}
	m.HandleFunc("/", hurry(func(w http.ResponseWriter, r *http.Request) {
		s.trouble(w, r, notFound("There is no such page."))
	}))
	s.handler = s.guard(m)
	return s, nil
}

// Handler returns the routes.
func (s *Server) Handler() http.Handler { return s.handler }

// Listen opens a port on this machine. It refuses any other address, because other
// devices must not see a record before they are paired.
func Listen(address string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("the address %q is not one: write it like 127.0.0.1:8484", address)
	}
	ip := net.ParseIP(host)
	if host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, fmt.Errorf("the address %q is open to other devices, and this version answers only on this computer: use 127.0.0.1:%s", address, port)
	}
	if host == "localhost" {
		address = net.JoinHostPort("127.0.0.1", port)
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("the port of %s cannot be opened: %w", address, errors.Unwrap(err))
	}
	return l, nil
}

// Serve answers on a listener until the context ends, then lets what is under way
// finish.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	// There is no WriteTimeout, because streams stay open; hurry limits the rest.
	h := &http.Server{Handler: s.handler, ReadHeaderTimeout: headerTimeout, IdleTimeout: idleTimeout, MaxHeaderBytes: largestHeader}
	done := make(chan error, 1)
	go func() { done <- h.Serve(l) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	s.Close()
	end, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	return h.Shutdown(end)
}

// Close ends the streams.
func (s *Server) Close() { s.close.Do(func() { close(s.closing) }) }

// show sends a page or a fragment, zipped where the browser takes it.
func (s *Server) show(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	var b bytes.Buffer
	if err := c.Render(r.Context(), &b); err != nil {
		if r.Context().Err() != nil {
			return // the reader is gone
		}
		panic(err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Vary", "Accept-Encoding, HX-Request, Cookie")
	body := b.Bytes()
	if acceptsGzip(r) {
		h.Set("Content-Encoding", "gzip")
		body = zip(body, gzip.DefaultCompression)
	}
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		w.Write(body)
	}
}

// fault answers when a fault of ours came up. What was kept before is safe, because
// the store acknowledges nothing that is not on the disk.
func (s *Server) fault(w http.ResponseWriter, r *http.Request, p any) {
	says := fmt.Sprintf("%v, at %s %s", p, r.Method, r.URL.Path)
	if s.options.Faults != nil {
		s.options.Faults(says, debug.Stack())
	}
	s.trouble(w, r, trouble{Status: http.StatusInternalServerError, Title: "This is a fault in Buttonup",
		Sentence: words.Sentence{Says: "This page could not be made. The journal is safe: what was kept is kept.", Do: "Go back and try once more. If it comes again, report it with this line.", Because: []string{says}}})
}
