package fromtable

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// torqueUnits is how the pack language writes the torque units of a table.
var torqueUnits = map[string]string{"ft-lb": "ft-lb", "in-lb": "in-lb", "N.m": "N·m", "kg-m": "kgf·m"}

// gradeForm is a strength grade as the pack language knows it; others go into the
// note.
var gradeForm = regexp.MustCompile(`^(SAE \d(\.\d)?|\d{1,2}\.\d)$`)

// jointRows makes a joint of every row that prints a whole thread.
func (c *conversion) jointRows() {
	page := ""
	for _, r := range c.table.rows {
		from := len(c.blocks)
		c.jointRow(r)
		if p := r.get("page_address"); p != page {
			page = p
			b := &c.blocks[from]
			b.comments = slices.Insert(b.comments, 0, clean("Page: "+p))
		}
	}
}

// jointRow writes one row of a torque table.
func (c *conversion) jointRow(r record) {
	if unit := r.get("unit"); unit == "factor" || unit == "rule" {
		c.noJoint(r, Noted, "a "+unit+" for other rows, not a joint")
		return
	}
	thread, length, err := readThread(r.get("thread"))
	if err != nil {
		c.noJoint(r, Refused, err.Error())
		return
	}
	label := strings.Join(nonEmpty(r.get("fastener"), r.get("thread")), ", ")
	b := block{kind: "joint", label: c.givenName(c.collectionPrefix(r), r.get("fastener"), r.get("thread"))}
	b.set("title", quote(c.titleOf(r, label, "", "")))
	b.set("thread", quote(thread))
	if length != "" {
		b.set("length", quote(length))
	}
	if strings.Contains(r.get("note"), "left-hand thread") {
		b.set("hand", quote("left"))
	}
	grade := r.get("grade")
	if gradeForm.MatchString(grade) {
		b.set("grade", quote(grade))
		grade = ""
	} else if grade != "" {
		grade = "grade as printed: " + grade
	}
	t, reason := tighteningOf(r)
	remarks, clash := twins(r, map[string]figure{"torque_min": t.low, "torque_max": t.high})
	reason = first(reason, clash)
	if r.get("confidence") == "doubtful" {
		reason, remarks = "in doubt: "+first(r.get("doubt"), "see the table note"), nil
		if repair := r.get("repair"); repair != "" {
			reason += ", a repair is suggested and not applied: " + repair
		}
	}
	outcome, says := Taken, remarks
	if reason != "" {
		outcome, says = Refused, []string{reason, "printed: " + printedTorque(r)}
		b.comment("No torque taken: %s", printedTorque(r))
	} else {
		t.write(&b, r)
		says = slices.Concat(t.says, remarks)
	}
	notes := slices.Concat(says, nonEmpty(grade, printedTwinTorque(r)))
	if r.get("note") != "" {
		notes = append(notes, "table note: "+r.get("note"))
	}
	if reason != "" {
		notes = append(notes, "source: "+source(r))
	}
	if note := joined(notes); note != "" {
		b.set("note", quote(note))
	}
	c.blocks = append(c.blocks, b)
	c.done(r, b.label, outcome, says...)
}

// printedTwinTorque quotes the second unit of a torque row.
func printedTwinTorque(r record) string {
	torque := strings.Join(slices.Compact(nonEmpty(r.get("torque_min_twin"), r.get("torque_max_twin"))), " .. ")
	if torque == "" {
		return ""
	}
	return "printed too: " + strings.Join(nonEmpty(torque+" "+r.get("twin_unit"), r.get("stages_twin")), ", in stages ")
}

// noJoint writes a row as a comment.
func (c *conversion) noJoint(r record, o Outcome, reason string) {
	b := block{}
	b.comment("Not a joint: %s: %s", strings.Join(nonEmpty(r.get("fastener"), r.get("thread"), r.get("grade"), printedTorque(r), r.get("lubricant_note")), ", "), reason)
	c.blocks = append(c.blocks, b)
	c.done(r, "", o, reason)
}

// printedTorque quotes the torque cells of a row.
func printedTorque(r record) string {
	torque := strings.Join(slices.Compact(nonEmpty(r.get("torque_min"), r.get("torque_max"))), " .. ")
	if torque != "" {
		torque = withUnit(torque, r.get("unit"))
	}
	parts := nonEmpty(torque, r.get("stages"))
	if factor := r.get("correction_factor"); factor != "" {
		parts = append(parts, "factor "+factor)
	}
	return strings.Join(parts, ", in stages ")
}

var (
	metricForm = regexp.MustCompile(`^M(\d+(?:\.\d+)?)(?: ?[x×] ?(\d+(?:\.\d+)?))?(?: ?[x×] ?(\d+(?:\.\d+)?))?$`)
	inchForm   = regexp.MustCompile(`^(\d+-\d+/\d+|\d+/\d+|\d+)-(\d{1,2})(?: ?UN[CF])?$`)
	sizeForm   = regexp.MustCompile(`^(\d+-\d+/\d+|\d+/\d+|\d+) in$`)
)

// longestPitch is the coarsest pitch of a metric thread, in mm: in "M14 x 100" the
// second figure is a length.
//
// Source: ISO 261, M64 and larger. Memory, not looked up.
const longestPitch = "6"

// readThread reads a thread with its pitch, and a length in mm where one follows.
func readThread(cell string) (thread, length string, err error) {
	if cell == "" {
		return "", "", fmt.Errorf("no thread is printed, and a joint needs one")
	}
	if m := inchForm.FindStringSubmatch(cell); m != nil {
		return m[1] + "-" + m[2], "", nil
	}
	m := metricForm.FindStringSubmatch(cell)
	switch {
	case m == nil && sizeForm.MatchString(cell):
		return "", "", fmt.Errorf("%s is a size without threads to the inch: a joint needs both, as in 3/8-16", cell)
	case m == nil:
		return "", "", fmt.Errorf("%q is not a thread", cell)
	case m[2] == "":
		return "", "", fmt.Errorf("%s is printed without a pitch: it may be the coarse one, and the table does not say so", cell)
	case ratio(m[2]).Cmp(ratio(longestPitch)) > 0:
		return "", "", fmt.Errorf("%s gives a length, not a pitch", cell)
	}
	if m[3] != "" {
		length = m[3] + " mm"
	}
	return "M" + m[1] + "x" + m[2], length, nil
}
