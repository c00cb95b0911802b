package web

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime/debug"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/a-h/templ"

	"buttonup/internal/authority"
	"buttonup/internal/recall"
	"buttonup/internal/shop"
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
	// Secret binds forms and PINs to this machine; nil is a new one for each process.
	Secret []byte
	// Authority opens what vouches for this machine; nil is no https.
	Authority func() (*authority.Authority, error)
	// Names finds how this machine is reached; nil is authority.Here.
	Names func() authority.Names
	// Faults is told of a fault of ours, with its trace; nil keeps it nowhere.
	Faults func(says string, trace []byte)
}

// Server is the pages over one record.
type Server struct {
	record  Record
	options Options
	token   string
	secret  []byte
	house   *household
	// search looks through all jobs; it is made when it is first asked.
	search    *recall.Searcher
	searching sync.Once
	gate      *gate
	pairing   pairing
	// shut is true when the port was closed to other devices: connections that were
	// open before end with it.
	shut     atomic.Bool
	tries    shop.Tries
	darkroom *darkroom
	desks    desks
	// pastJobs are what other jobs tell of parts.
	pastJobs pastJobs
	streams  atomic.Int64
	closing  chan struct{}
	close    sync.Once
	// delivery is held while events are looked up and added.
	delivery sync.Mutex
	ledgers  map[string]*ledger

	nameLock sync.Mutex
	keys     *authority.Authority
	namesNow authority.Names
	namesAt  time.Time
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
	if o.Names == nil {
		o.Names = authority.Here
	}
	if o.Secret == nil {
		o.Secret = make([]byte, 32)
		if _, err := io.ReadFull(o.Random, o.Secret); err != nil {
			return nil, fmt.Errorf("make the token of the pages: %w", err)
		}
	}
	house, err := newHousehold(context.Background(), record)
	if err != nil {
		return nil, err
	}
	s := &Server{record: record, options: o, secret: o.Secret, house: house, closing: make(chan struct{}), darkroom: newDarkroom(), ledgers: map[string]*ledger{}}
	s.token = s.bound("form here")
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

// Listen opens a port: on this machine only, on one of its private addresses, or on all
// of its networks (0.0.0.0). It refuses an address that the whole world can reach.
func Listen(address string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("the address %q is not one: write it like 127.0.0.1:8484", address)
	}
	if host == "localhost" {
		host = "127.0.0.1"
	}
	ip := net.ParseIP(host)
	if ip == nil || !ip.IsUnspecified() && !authority.IsPrivate(ip) {
		return nil, fmt.Errorf("the address %q is not one of a shop's own network: use 127.0.0.1:%s for this computer alone, 0.0.0.0:%s for phones too", address, port, port)
	}
	network := "tcp"
	if ip.To4() != nil {
		network = "tcp4"
	}
	l, err := net.Listen(network, net.JoinHostPort(host, port))
	if err != nil {
		return nil, fmt.Errorf("the port of %s cannot be opened: %w", address, errors.Unwrap(err))
	}
	return l, nil
}

// Listener is an open port.
type Listener = net.Listener

// PageOf is where a browser on this computer finds the pages behind a port.
func PageOf(l Listener) string {
	a, ok := l.Addr().(*net.TCPAddr)
	if ok && a.IP.IsUnspecified() {
		return "http://" + net.JoinHostPort("127.0.0.1", strconv.Itoa(a.Port))
	}
	return "http://" + l.Addr().String()
}

// IsForShop says whether other devices can reach a port.
func IsForShop(l Listener) bool {
	a, ok := l.Addr().(*net.TCPAddr)
	return ok && !a.IP.IsLoopback()
}

// ForShop is an address of this computer alone made one for the shop's network, with
// the same port.
func ForShop(address string) string {
	host, port, err := net.SplitHostPort(address)
	if err != nil || host != "localhost" && !net.ParseIP(host).IsLoopback() {
		return address
	}
	return net.JoinHostPort("0.0.0.0", port)
}

// Serve answers on a listener until the context ends, then lets what is under way
// finish.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	s.gate = newGate(l.Addr())
	s.gate.take(l)
	if s.isOpen() {
		if err := s.openKeys(); err != nil {
			s.gate.close()
			return err
		}
	}
	return s.serve(ctx, s.gate)
}

// OpenAtStart says whether the shop settled that phones are let in when the program
// starts.
func (s *Server) OpenAtStart() bool { return s.house.now().On(shop.SettingOpen) }

// isOpen says whether other devices can reach this server.
func (s *Server) isOpen() bool {
	return s.gate != nil && s.gate.address() != nil && !s.gate.address().IP.IsLoopback()
}

// letIn opens the port to the shop's network, or closes it to all but this computer.
func (s *Server) letIn(open bool) error {
	s.shut.Store(!open)
	if s.gate == nil || open == s.isOpen() {
		return nil
	}
	if err := s.openKeys(); err != nil {
		return err
	}
	host := "127.0.0.1"
	if open {
		host = "0.0.0.0"
	}
	return s.gate.move(net.JoinHostPort(host, strconv.Itoa(s.gate.address().Port)))
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
	body := inShopWords(b.Bytes(), saidWords(r))
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
