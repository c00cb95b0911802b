package parts

import (
	"strings"
	"time"

	"buttonup/journal"
)

// Away is a part that was sent out: to whom, what was asked, when it is due, and what
// it measured when it came back.
type Away struct {
	Slot, Place, Part string
	To, Asked, Due    string
	Sent              time.Time
	// Back is when it came back, zero while it is out; Sizes are those measured then,
	// and Why what was said of it.
	Back  time.Time
	Sizes map[string]string
	Why   string
	Price string
	// Event is that of the sending.
	Event string
}

// Out reports whether the part is still away.
func (a *Away) Out() bool { return a.Back.IsZero() }

// Overdue reports whether it should have been back by a time. A due date that is no
// date is never over.
func (a *Away) Overdue(now time.Time) bool {
	due, ok := dueTime(a.Due)
	return ok && a.Out() && !now.IsZero() && now.After(due)
}

// dueTime reads a due date: the end of the day that it names.
func dueTime(text string) (time.Time, bool) {
	text = strings.TrimSpace(text)
	if t, err := time.Parse("2006-01-02", text); err == nil {
		return t.Add(24 * time.Hour), true
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t, true
	}
	return time.Time{}, false
}

// SentOut lists what was sent out in a job, in the order of sending; each with its
// return, if it came back. A return names the part, or only its slot and place.
func SentOut(s *journal.State) []Away {
	var list []Away
	for i := range s.Parts {
		rec := &s.Parts[i]
		slot := strings.TrimPrefix(rec.Slot, "slot.")
		switch rec.State {
		case journal.Sent:
			list = append(list, Away{Slot: slot, Place: rec.Place, Part: rec.PartBody.Part, To: rec.To, Asked: rec.Asked, Due: rec.Due,
				Sent: rec.At, Event: rec.Event, Price: rec.Price})
		case journal.Back:
			for k := len(list) - 1; k >= 0; k-- {
				a := &list[k]
				if a.Out() && a.Place == rec.Place && sameOrBlank(a.Slot, slot) && sameOrBlank(a.Part, rec.PartBody.Part) {
					a.Back, a.Sizes, a.Why = rec.At, rec.Sizes, rec.Why
					if rec.Price != "" {
						a.Price = rec.Price
					}
					break
				}
			}
		}
	}
	return list
}

func sameOrBlank(a, b string) bool { return a == "" || b == "" || a == b }
