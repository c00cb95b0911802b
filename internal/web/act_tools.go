package web

import (
	"net/http"
	"strings"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/quantity"
)

// toolsView is the page of instruments and wrenches, under their owner's names.
type toolsView struct {
	view
	Wrenches, Gauges []toolLine
	Classes          []*pack.Instrument
	What             string // "wrench" when one is wanted
	Back             string
}

type toolLine struct {
	journal.InstrumentRecord
	Says string
}

func (s *Server) toolRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /job/{job}/instruments", hurry(s.tools))
}

// tools lists the instruments of a job and takes new ones.
func (s *Server) tools(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &toolsView{view: s.view(r, "instruments", sh), What: r.URL.Query().Get("what")}
	v.Title = "Instruments and wrenches"
	v.Also = []string{"act.css", "act.js"}
	v.Back = v.Path
	if back := r.URL.Query().Get("back"); back != "" {
		v.Back = ownPath(back)
	}
	for _, name := range sh.State.InstrumentOrder {
		rec := sh.State.Instruments[name]
		line := toolLine{rec, v.toolSays(&rec)}
		if isWrench(&rec) {
			v.Wrenches = append(v.Wrenches, line)
		} else {
			v.Gauges = append(v.Gauges, line)
		}
	}
	v.Classes = sh.pack.Instruments
	s.show(w, r, http.StatusOK, toolsPage(v))
}

func (v *toolsView) toolSays(rec *journal.InstrumentRecord) string {
	var facts []string
	if rec.Class != "" {
		facts = append(facts, rec.Class)
	}
	if rec.Min != "" || rec.Max != "" {
		facts = append(facts, strings.TrimSpace(rec.Min+" to "+rec.Max))
	}
	if rec.Step != "" {
		facts = append(facts, "reads "+shownIn(rec.Step, v.System))
	}
	if rec.Uncertainty != "" {
		facts = append(facts, "±"+shownIn(rec.Uncertainty, v.System))
	}
	if rec.Offset != "" {
		says := "adapter " + rec.Offset
		if rec.Angle != "" {
			says += " at " + rec.Angle
		}
		facts = append(facts, says+" on an arm of "+rec.Arm)
	}
	if rec.Calibrated != "" {
		facts = append(facts, "calibrated "+rec.Calibrated)
	} else {
		facts = append(facts, "no calibration written")
	}
	return strings.Join(facts, ", ")
}

// instrumentBody registers a gauge or a wrench under its owner's name for it.
func instrumentBody(field func(string) string) ([]any, *trouble) {
	refuse := func(says, do string) ([]any, *trouble) {
		t := unusable(says, do+" Nothing was kept.")
		return nil, &t
	}
	b := journal.Instrument{Name: field("name"), Class: field("class"), Step: field("step"), Uncertainty: field("uncertainty"), Calibrated: field("calibrated"),
		Unit: field("unit"), Arm: field("arm"), Offset: field("offset"), Angle: field("angle")}
	if b.Name == "" {
		return refuse("The instrument has no name.", "Go back and write what you call it: small clicker, or the blue bore gauge.")
	}
	// A bare number has the unit that stands beside it.
	unit := field("unit")
	for _, x := range []struct {
		name, unit string
		want       quantity.Dimension
		into       *string
	}{{"min", unit, quantity.OfTorque, &b.Min}, {"max", unit, quantity.OfTorque, &b.Max}, {"graduation", unit, quantity.OfTorque, &b.Graduation},
		{"arm", field("arm_unit"), quantity.OfLength, &b.Arm}, {"offset", field("arm_unit"), quantity.OfLength, &b.Offset}, {"angle", "deg", quantity.OfAngle, &b.Angle}} {
		text := field(x.name)
		if text == "" {
			continue
		}
		q, err := quantity.Parse(text)
		if err == nil && q.Dimension.IsNumber() && x.unit != "" {
			text += " " + x.unit
			q, err = quantity.Parse(text)
		}
		if err != nil || q.Dimension != x.want {
			return refuse("“"+field(x.name)+"” is not a "+x.want.String()+".", "Go back and write a number with its unit.")
		}
		*x.into = text
	}
	for _, x := range []struct{ text, says string }{{b.Step, "what it reads to"}, {b.Uncertainty, "its ±"}} {
		if x.text == "" {
			continue
		}
		if _, err := quantity.Parse(strings.TrimSuffix(strings.TrimSpace(x.text), "%")); err != nil {
			return refuse("“"+x.text+"” cannot be read as "+x.says+".", "Go back and write a number with its unit, like 0.005 mm or 4 %.")
		}
	}
	if b.Unit != "" {
		if u, err := quantity.ParseUnit(b.Unit); err != nil || u.Dimension != quantity.OfTorque {
			return refuse("“"+b.Unit+"” is not a unit of torque.", "Go back and choose N·m, ft-lb or in-lb.")
		}
	}
	if (b.Arm == "") != (b.Offset == "") {
		return refuse("An adapter needs two lengths: the arm of the wrench and how far the adapter moves the nut.", "Go back and write both, or neither.")
	}
	return []any{b}, nil
}

var torqueUnits = []string{"N·m", "ft-lb", "in-lb"}

// unitFirst puts the units of a shop first.
func unitFirst(s quantity.System) []string {
	if s == quantity.Inch {
		return []string{"ft-lb", "in-lb", "N·m"}
	}
	return torqueUnits
}

func lengthUnit(s quantity.System) string { return s.Unit(quantity.OfLength).Symbol }
