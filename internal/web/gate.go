package web

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/http"
	"sync"
	"time"
)

const (
	// firstByte is how long a connection may be silent before it is known what it is.
	firstByte = 5 * time.Second
	// tlsHandshake begins an encrypted connection: RFC 8446, content type 22.
	tlsHandshake = 0x16
	// mostWaiting bounds the connections of which nothing is known yet.
	mostWaiting = 256
)

// gate is the one port for all: it opens it on this computer only or for the shop's
// network, and tells encrypted connections from plain ones by their first byte, so that
// there is one address to remember and one question of the firewall.
type gate struct {
	plain, secure *hall
	waiting       chan struct{}

	mu     sync.Mutex
	open   net.Listener
	closed bool
	failed chan error
}

func newGate(address net.Addr) *gate {
	return &gate{plain: newHall(address), secure: newHall(address), waiting: make(chan struct{}, mostWaiting), failed: make(chan error, 1)}
}

// take lets connections of a listener in, instead of the one before.
func (g *gate) take(l net.Listener) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.open = l
	go g.accept(l)
}

func (g *gate) accept(l net.Listener) {
	for {
		c, err := l.Accept()
		if err != nil {
			g.mu.Lock()
			mine := g.open == l && !g.closed
			g.mu.Unlock()
			if !mine {
				return // it was closed to open another
			}
			var passing net.Error
			if errors.As(err, &passing) && passing.Timeout() {
				continue
			}
			select {
			case g.failed <- err:
			default:
			}
			return
		}
		select {
		case g.waiting <- struct{}{}:
			go g.sort(c)
		default:
			c.Close()
		}
	}
}

// sort looks at the first byte.
func (g *gate) sort(c net.Conn) {
	defer func() { <-g.waiting }()
	_ = c.SetReadDeadline(time.Now().Add(firstByte))
	var first [1]byte
	if _, err := io.ReadFull(c, first[:]); err != nil {
		c.Close()
		return
	}
	_ = c.SetReadDeadline(time.Time{})
	hall := g.plain
	if first[0] == tlsHandshake {
		hall = g.secure
	}
	hall.enter(&begun{Conn: c, first: first[:]})
}

// address is where the gate is open.
func (g *gate) address() *net.TCPAddr {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.open == nil {
		return nil // it is being moved
	}
	a, _ := g.open.Addr().(*net.TCPAddr)
	return a
}

// move closes the port and opens it at another address. When that fails it is opened
// again where it was.
func (g *gate) move(to string) error {
	g.mu.Lock()
	before := g.open
	g.open = nil
	g.mu.Unlock()
	was := before.Addr().String()
	before.Close()
	l, err := net.Listen("tcp4", to)
	if err != nil {
		again, err2 := net.Listen("tcp4", was)
		if err2 != nil {
			select {
			case g.failed <- err2:
			default:
			}
			return errors.Join(err, err2)
		}
		g.take(again)
		return err
	}
	g.take(l)
	return nil
}

func (g *gate) close() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.closed = true
	if g.open != nil {
		g.open.Close()
	}
	g.plain.Close()
	g.secure.Close()
}

// begun is a connection of which the first byte was read.
type begun struct {
	net.Conn
	first []byte
}

func (b *begun) Read(p []byte) (int, error) {
	if len(b.first) > 0 && len(p) > 0 {
		n := copy(p, b.first)
		b.first = b.first[n:]
		return n, nil
	}
	return b.Conn.Read(p)
}

// hall is where connections of one kind wait for their server.
type hall struct {
	address net.Addr
	conns   chan net.Conn
	done    chan struct{}
	once    sync.Once
}

func newHall(a net.Addr) *hall {
	return &hall{address: a, conns: make(chan net.Conn), done: make(chan struct{})}
}

func (h *hall) enter(c net.Conn) {
	select {
	case h.conns <- c:
	case <-h.done:
		c.Close()
	}
}

// Accept, Close and Addr make it a listener.
func (h *hall) Accept() (net.Conn, error) {
	select {
	case c := <-h.conns:
		return c, nil
	case <-h.done:
		return nil, net.ErrClosed
	}
}

func (h *hall) Close() error {
	h.once.Do(func() { close(h.done) })
	return nil
}

func (h *hall) Addr() net.Addr { return h.address }

// serve answers at the gate until the context ends, then lets what is under way finish.
func (s *Server) serve(ctx context.Context, g *gate) error {
	// There is no WriteTimeout, because streams stay open; hurry limits the rest.
	made := func() *http.Server {
		return &http.Server{Handler: s.handler, ReadHeaderTimeout: headerTimeout, IdleTimeout: idleTimeout, MaxHeaderBytes: largestHeader, ErrorLog: s.quiet()}
	}
	plain, secure := made(), made()
	secure.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12, NextProtos: []string{"h2", "http/1.1"}, GetCertificate: s.leaf}
	done := make(chan error, 2)
	go func() { done <- plain.Serve(g.plain) }()
	go func() { done <- secure.ServeTLS(g.secure, "", "") }()
	var failed error
	select {
	case failed = <-g.failed:
	case failed = <-done:
	case <-ctx.Done():
	}
	s.Close()
	g.close()
	end, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	err := errors.Join(plain.Shutdown(end), secure.Shutdown(end))
	if failed != nil {
		return failed
	}
	return err
}

// leaf is the certificate for an encrypted connection.
func (s *Server) leaf(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	a := s.authority()
	if a == nil {
		return nil, errors.New("this server has no certificate yet")
	}
	return a.Leaf()
}
