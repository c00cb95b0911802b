package words

import (
	"strings"
	"time"

	"buttonup/assess"
	"buttonup/quantity"
)

// ClosedOver says over how much a space was closed.
func ClosedOver(n int) string { return "closed over " + Count(n, "thing", "things") + " not done" }

// TorqueFacts says the torque of a joint as its manual prints it, and what is on it.
func TorqueFacts(j *assess.Joint, s quantity.System) string {
	var facts []string
	if j.Torque.HasLow && j.Torque.HasHigh {
		u, decimals := UnitIn(j.Unit, max(j.Torque.Decimals, 0), s)
		facts = append(facts, quantity.FormatNumber(u.In(j.Torque.Low), decimals)+" to "+u.Text(j.Torque.High, decimals))
	}
	if on := orElse(j.Joint.State, j.Joint.TorqueFor); on != "" {
		facts = append(facts, on)
	}
	return strings.Join(facts, ", ")
}

// TearBackCaution stands on every tear-back, on the page and on paper.
const TearBackCaution = "Buttonup records and computes; it does not certify. The engine maker's manual, local rules and licensed practice come first."

// AllDone names the end of the work.
const AllDone = "all is done"

// FoundAfter says when something is found: now, or once something was closed.
func FoundAfter(after string) string {
	switch after {
	case "":
		return "If found now"
	case AllDone:
		return "Once all is done"
	}
	return "Once closed: " + lowered(after)
}

// LaterSays tells the drawing of what it costs to find something later.
func LaterSays(now, end time.Duration) string {
	return "Hours to get back to it, by the step at which it is found: " + HoursMinutes(now) + " now, " + HoursMinutes(end) + " at the end; it goes up where a space is closed"
}
