package store

import "sync"

// Change says that something was added to a job.
type Change struct {
	Job string
	// Seq is the number of the last event there is now. It is 0 for a job that was
	// just started, and the same as before when a line was only set aside.
	Seq int64
}

// watchRoom is how many changes a listener may be behind. A page that is alive takes
// them at once; one that is this far behind is asleep or gone.
const watchRoom = 64

// Watch returns a channel that gets a Change after each commit that added to the job,
// or to any job when job is empty, in the order of the commits. Call stop when done.
//
// A listener that does not take its changes is dropped, not waited for: its channel
// is closed, as it is by stop and by Close. It then watches again and reads from the
// number after the last it knows. To miss nothing, watch first and read afterwards.
// What another program does to the folder is not told.
func (s *Store) Watch(job string) (changes <-chan Change, stop func()) {
	l := &listener{job: job, changes: make(chan Change, watchRoom)}
	s.hub.add(l)
	return l.changes, func() { s.hub.drop(l) }
}

// hub tells listeners what was committed.
type hub struct {
	mu        sync.Mutex
	listeners map[*listener]struct{}
	closed    bool
}

type listener struct {
	job     string
	changes chan Change
}

func (h *hub) add(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		close(l.changes)
		return
	}
	if h.listeners == nil {
		h.listeners = map[*listener]struct{}{}
	}
	h.listeners[l] = struct{}{}
}

func (h *hub) drop(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.remove(l)
}

// remove closes a listener's channel, once.
func (h *hub) remove(l *listener) {
	if _, there := h.listeners[l]; there {
		delete(h.listeners, l)
		close(l.changes)
	}
}

// publish never waits.
func (h *hub) publish(c Change) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.listeners {
		if l.job != "" && l.job != c.Job {
			continue
		}
		select {
		case l.changes <- c:
		default:
			h.remove(l)
		}
	}
}

func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for l := range h.listeners {
		h.remove(l)
	}
}
