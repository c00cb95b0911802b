package words

import (
	"fmt"
	"time"

	"buttonup/assess"
	"buttonup/pack"
)

// SpacesFacts says how many spaces are closed.
func SpacesFacts(closed, all int) string {
	return fmt.Sprintf("%d of %s closed", closed, Count(all, "space", "spaces"))
}

// ClosedFromStart says that a space was closed when the job began.
const ClosedFromStart = "closed when the job began"

// ClosedWhen says by what and when a space was closed.
func ClosedWhen(p *pack.Pack, by assess.Operation, at time.Time, who string, late bool) string {
	says := "closed by " + lowered(plain(Operation(p, by)))
	if when := DoneWhen(at, who, late); when != "" {
		says += ", " + when
	}
	return says
}

// PutInAt says by what something was put in.
func PutInAt(p *pack.Pack, x assess.PutIn) string {
	return "put in at " + Operation(p, x.By)
}

// ClosedWithAll says which operations must all be done before a space is closed.
func ClosedWithAll(names []string) string {
	return "It is closed once all of these are done: " + list(names)
}

// ComingBack says what it costs to come back into a space once it is closed: right after,
// and once the engine is together, where that is more.
func ComingBack(c *assess.Closing) []string {
	var list []string
	if c.Soon != nil {
		list = append(list, "To come back right after: "+Price(c.Soon))
	}
	if c.Price != nil {
		if says := Price(c.Price); c.Soon == nil || says != Price(c.Soon) {
			list = append(list, "Once the engine is together: "+says)
		}
	}
	return list
}
