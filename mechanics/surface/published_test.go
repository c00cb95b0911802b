package surface_test

import (
	"strings"
	"testing"

	"buttonup/internal/check"
	"buttonup/mechanics/surface"
)

func TestPublished(t *testing.T) {
	for _, f := range check.Glob(t, "testdata/published/*.check") {
		for _, row := range f.Rows {
			text := strings.NewReplacer("; ", ";", " ", ",").Replace(row.In["points"])
			points, err := surface.ParsePoints(text)
			if err != nil {
				t.Fatalf("%s:%d: %v", f.Path, row.Line, err)
			}
			zone, err := surface.MinimumZone(points)
			if err != nil {
				t.Fatalf("%s:%d: %v", f.Path, row.Line, err)
			}
			fit, err := surface.LeastSquares(points)
			if err != nil {
				t.Fatalf("%s:%d: %v", f.Path, row.Line, err)
			}
			f.Compare(t, row, "minimum zone", zone.Width.Millimetres())
			f.Compare(t, row, "peak to valley", fit.PeakToValley.Millimetres())
			f.Compare(t, row, "rms", fit.RMS.Millimetres())
		}
	}
}
