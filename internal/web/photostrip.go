package web

import (
	"slices"
	"strings"

	"buttonup/journal"
)

// photosOf are the photos of any of the things that are named, the newest first. What is
// of a thing without its place belongs to all its places.
func (s *sheet) photosOf(references ...string) []journal.PhotoRecord {
	var list []journal.PhotoRecord
	for _, p := range slices.Backward(s.State.Photos) {
		for _, r := range references {
			if bare, _, _ := strings.Cut(r, " "); p.Of == r || p.Of == bare {
				list = append(list, p)
				break
			}
		}
	}
	return list[:min(len(list), mostInStrip)]
}

// mostInStrip is how many photos stand on a page that is about something else; the page
// of the photos has all.
const mostInStrip = 8

// holdPhotos are those of what is looked at or read at a hold.
func (d *doView) holdPhotos(h *holdLine) []journal.PhotoRecord {
	return d.Sheet.photosOf(strings.TrimSpace(h.Result.Reference() + " " + h.Result.Place))
}

// photos are those of the joint and of the step that tightens it.
func (v *wrenchView) photos() []journal.PhotoRecord {
	list := []string{strings.TrimSpace("joint." + v.J.Name + " " + v.J.Place)}
	if v.Op.Name != "" {
		list = append(list, v.Op.String())
	}
	return v.Sheet.photosOf(list...)
}
