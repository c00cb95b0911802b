package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"

	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/words"
)

const (
	// largestDelivery is how much an outbox may send at once.
	largestDelivery = 1 << 20
	// mostDelivered is how many events it may send at once.
	mostDelivered = 500
)

// taken is what is said of one event that was sent.
type taken struct {
	ID      string `json:"id"`
	Outcome string `json:"outcome"`
	Seq     int64  `json:"seq,omitempty"`
	Says    string `json:"says,omitempty"`
	// Asks is the question about a reading that was kept and looks like a slip, and
	// Address where to answer it.
	Asks    string `json:"asks,omitempty"`
	Address string `json:"address,omitempty"`
}

// takenAll is the answer to a delivery: one answer an event, in their order, and the
// time here, by which a device sees how far its clock is off.
type takenAll struct {
	Answers []taken `json:"answers"`
	Now     string  `json:"now"`
}

// take adds events that come in the form of a journal, one a line. It is where an
// outbox delivers what it kept, and may be called again with the same lines as often as
// it likes.
func (s *Server) take(w http.ResponseWriter, r *http.Request) {
	job := r.PathValue("job")
	body, err := io.ReadAll(r.Body)
	if err != nil {
		refuseJSON(w, http.StatusRequestEntityTooLarge, "More was sent at once than is taken: send fewer events.")
		return
	}
	lines := bytes.Split(body, []byte("\n"))
	var sent [][]byte
	for _, l := range lines {
		if l = bytes.TrimSpace(l); len(l) > 0 {
			sent = append(sent, l)
		}
	}
	if len(sent) == 0 || len(sent) > mostDelivered {
		refuseJSON(w, http.StatusBadRequest, "Send 1 to 500 events, each as one line of JSON.")
		return
	}
	answers, err := s.keepOnce(r, job, sent)
	switch {
	case errors.Is(err, store.ErrNotFound):
		refuseJSON(w, http.StatusNotFound, "There is no such job.")
	case err != nil:
		t := troubleOf(err)
		refuseJSON(w, t.Status, strings.TrimSpace(t.Says+" "+t.Do))
	default:
		writeJSON(w, http.StatusOK, takenAll{answers, s.now()})
	}
}

// keepOnce adds lines to a job in their order. An event that is there already under its
// id counts once, also when the server wrote it itself from a form whose answer was
// lost on its way: then the two differ in who and when, and not in what.
func (s *Server) keepOnce(r *http.Request, job string, lines [][]byte) ([]taken, error) {
	// One delivery at a time: what is looked up here must not change before it is added.
	s.delivery.Lock()
	defer s.delivery.Unlock()
	l, err := s.ledger(r.Context(), job)
	if err != nil {
		return nil, err
	}
	answers := make([]taken, len(lines))
	var fresh [][]byte
	var at []int
	for i, line := range lines {
		e, err := journal.Decode(line)
		if err == nil {
			if seq, there := l.has(&e); there {
				answers[i] = taken{ID: e.ID, Outcome: store.Already.String(), Seq: seq}
				continue
			}
		}
		if err == nil && isProvenLook(&e) {
			answers[i] = taken{ID: e.ID, Outcome: store.Refused.String(), Says: "A second look and a signature are given on the page of the step, while the computer answers: a PIN is proven there."}
			continue
		}
		if err == nil {
			line = s.signed(r, &e)
		} else if e.By != "" && e.By != s.who(r) && !s.mayWriteAs(r, e.By) {
			// Of a kind that this version does not know, so that it cannot be written anew.
			answers[i] = taken{ID: e.ID, Outcome: store.Refused.String(), Says: "This entry says that " + e.By + " wrote it, and that is not who is at this device."}
			continue
		}
		fresh, at = append(fresh, line), append(at, i)
	}
	if len(fresh) == 0 {
		return answers, nil
	}
	done, err := s.record.Append(r.Context(), job, fresh...)
	if err != nil {
		return nil, err
	}
	for k, d := range done {
		a := taken{ID: d.ID, Outcome: d.Outcome.String(), Seq: d.Seq}
		if d.Problem != nil && d.Outcome != store.Kept {
			a.Says = words.Upper(d.Problem.Error()) + "."
		}
		answers[at[k]] = a
	}
	s.askAbout(r, job, lines, answers)
	return answers, nil
}

// signed puts into an event who wrote it, which a device does not decide for itself.
func (s *Server) signed(r *http.Request, e *journal.Event) []byte {
	who := s.who(r)
	if e.By == who || s.mayWriteAs(r, e.By) {
		return e.Bytes
	}
	if e.By == "" && bytes.HasSuffix(e.Bytes, []byte("}")) && !bytes.Contains(e.Bytes, []byte(`"by"`)) {
		name, err := json.Marshal(who)
		if err == nil {
			return append(append(append(bytes.Clone(e.Bytes[:len(e.Bytes)-1]), `,"by":`...), name...), '}')
		}
	}
	again := *e
	again.By, again.Bytes = who, nil
	if whole, err := again.Encode(); err == nil {
		return whole
	}
	return e.Bytes
}

// giveToken tells a page of ours that was kept on a device the token of this server.
// Another site cannot read the answer: it is of another origin.
func (s *Server) giveToken(w http.ResponseWriter, r *http.Request) {
	if site := r.Header.Get("Sec-Fetch-Site"); site != "" && site != "same-origin" {
		refuseJSON(w, http.StatusForbidden, "This question did not come from a page of Buttonup.")
		return
	}
	writeJSON(w, http.StatusOK, map[string]string{"token": s.tokenFor(r), "by": s.who(r), "now": s.now()})
}

// now is the time here as JSON answers give it.
func (s *Server) now() string { return s.options.Now().UTC().Format("2006-01-02T15:04:05.000Z") }

func refuseJSON(w http.ResponseWriter, status int, says string) {
	writeJSON(w, status, map[string]string{"says": says})
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err) // a value of ours that cannot be written
	}
	h := w.Header()
	h.Set("Content-Type", "application/json")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	w.Write(append(text, '\n'))
}
