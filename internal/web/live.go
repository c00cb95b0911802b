package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"buttonup/internal/store"
)

const (
	// slowest is how long a listener may take to accept one message.
	slowest = 5 * time.Second
	// heartbeat keeps a stream from looking dead.
	heartbeat = 20 * time.Second
	// mostStreams bounds the listeners of one server.
	mostStreams = 200
)

// events streams the number of the newest event of a job whenever it changes. A page
// that comes back says what it knew in Last-Event-ID and hears at once if there is
// more. A listener that is too slow is dropped and comes back by itself.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("job")
	if s.streams.Add(1) > mostStreams {
		s.streams.Add(-1)
		s.trouble(w, r, busy())
		return
	}
	defer s.streams.Add(-1)
	// Watch first and read afterwards, so that nothing falls between.
	changes, stop := s.record.Watch(id)
	defer stop()
	now, err := s.newest(r.Context(), id)
	if err != nil {
		s.failed(w, r, err)
		return
	}
	control := http.NewResponseController(w)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	send := func(format string, args ...any) bool {
		_ = control.SetWriteDeadline(time.Now().Add(slowest))
		if _, err := fmt.Fprintf(w, format, args...); err != nil {
			return false
		}
		return control.Flush() == nil
	}
	// What the page knows: from the header on coming back, else from its address.
	text := r.Header.Get("Last-Event-ID")
	if text == "" {
		text = r.URL.Query().Get("after")
	}
	knows, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		knows = now
	}
	if !send("retry: 1000\n\n") {
		return
	}
	last := knows
	if now > knows {
		last = now
		if !send("event: changed\nid: %d\ndata: %d\n\n", last, last) {
			return
		}
	}
	// Watched before it is asked, so that nobody slips through between.
	settled := s.house.watch()
	if !s.still(r) {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-s.closing:
			return
		case <-settled:
			settled = s.house.watch()
			if !s.still(r) {
				return // the device was sent away, or the port was closed to others
			}
		case <-beat.C:
			if !send(": here\n\n") {
				return
			}
		case c, open := <-changes:
			if !open {
				return
			}
			seq := c.Seq
			if id == "" {
				if seq, err = s.newest(r.Context(), id); err != nil {
					return
				}
			}
			if seq <= last {
				continue
			}
			last = seq
			if !send("event: changed\nid: %d\ndata: %d\n\n", last, last) {
				return
			}
		}
	}
}

// newest returns the number of the newest event of a job; for no job, which is the
// bench, that of all events of all jobs and the jobs themselves.
func (s *Server) newest(ctx context.Context, id string) (int64, error) {
	if id != "" {
		job, err := s.record.Job(ctx, id)
		return job.Events, err
	}
	jobs, err := s.record.Jobs(ctx)
	return allEvents(jobs), err
}

func allEvents(jobs []store.Job) int64 {
	n := int64(len(jobs))
	for _, j := range jobs {
		n += j.Events
	}
	return n
}
