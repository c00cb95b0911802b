package web

import "net/http"

// who returns the name under which a request writes: of the person, else of the device,
// else of the bench.
func (s *Server) who(r *http.Request) string { return by }

// mayWriteAs says whether an entry of this device may carry a name, as one that was
// kept on the device while somebody else was at it.
func (s *Server) mayWriteAs(r *http.Request, name string) bool { return false }

// tokenFor returns what a form on a page for this request must send back.
func (s *Server) tokenFor(r *http.Request) string { return s.token }
