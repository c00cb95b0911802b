package book

// signs are the silhouettes of the pages, on a square of 24: they differ in outline
// alone, so that a book printed in one colour says the same.
var signs = map[string]struct {
	data    string
	stroked bool
}{
	"new":   {"M12 1.5C6.2 1.5 1.5 6.2 1.5 12C1.5 17.8 6.2 22.5 12 22.5C17.8 22.5 22.5 17.8 22.5 12C22.5 6.2 17.8 1.5 12 1.5Z M5.9 12.3L7.7 10.5L10.7 13.5L16.3 7.9L18.1 9.7L10.7 17.1Z", false},
	"svc":   {"M2 2H22V22H2Z M5 7.6H13V12.6H19V15.4H10.2V10.4H5Z", false},
	"worn":  {"M7.4 1.5H16.6L22.5 7.4V16.6L16.6 22.5H7.4L1.5 16.6V7.4Z M8.2 6.2L6.2 8.2L10 12L6.2 15.8L8.2 17.8L12 14L15.8 17.8L17.8 15.8L14 12L17.8 8.2L15.8 6.2L12 10Z", false},
	"close": {"M12 0.6L23.4 12L12 23.4L0.6 12Z M6 8.6V15.4H8V13.1H16V15.4H18V8.6H16V10.9H8V8.6Z", false},
	"none":  {"M3 9C4 5.5 8 2.6 12 2.6 M16 3.6C19 5 21 8 21.4 12 M20.5 16C19 19 16 21.2 12.5 21.4 M8 20.5C5 19 3 16.5 2.7 13", true},
	"done":  {"M3.2 12.6L6 9.8L10.2 14L18.6 5.4L21.4 8.2L10.2 19.6Z", false},
	"hold":  {"M6.3 1.6H17.7L23.2 12L17.7 22.4H6.3L0.8 12Z M7.6 6.6V17.4H10.2V13.2H13.8V17.4H16.4V6.6H13.8V10.8H10.2V6.6Z", false},
	"once":  {"M12 2.5C6.8 2.5 2.5 6.8 2.5 12C2.5 17.2 6.8 21.5 12 21.5C17.2 21.5 21.5 17.2 21.5 12 M21.5 12L18.5 9.5L20.5 7L16.5 6L17 3", true},
	"block": {"M12 1.5C6.2 1.5 1.5 6.2 1.5 12C1.5 17.8 6.2 22.5 12 22.5C17.8 22.5 22.5 17.8 22.5 12C22.5 6.2 17.8 1.5 12 1.5Z M5.5 10.2H18.5V13.8H5.5Z", false},
	"point": {"M5 2.5L20.5 12L5 21.5Z", false},
	"todo":  {"M3.5 3.5H20.5V20.5H3.5Z", true},
	"wait":  {"M12 1.5C6.2 1.5 1.5 6.2 1.5 12C1.5 17.8 6.2 22.5 12 22.5C17.8 22.5 22.5 17.8 22.5 12C22.5 6.2 17.8 1.5 12 1.5Z M10.7 5.2H13.3V11.2L17.6 13.7L16.3 15.9L10.7 12.7Z", false},
}

// sign draws a sign with its upper left corner at x, y.
func (d *Drawing) sign(name string, x, y, size float64, ink Ink) {
	s, ok := signs[name]
	if !ok {
		return
	}
	k := size / 24
	if s.stroked {
		d.path(s.data, x, y, k, None, ink, 2.4*k, false)
		return
	}
	d.path(s.data, x, y, k, ink, None, 0, true)
}

// mark draws the button with four holes, the thread going round.
func (d *Drawing) mark(x, y, size float64) {
	k := size / 24
	d.circle(x+12*k, y+12*k, 10.3*k, None, Blue, 2.2*k)
	for _, p := range [][2]float64{{8.4, 8.4}, {15.6, 8.4}, {15.6, 15.6}, {8.4, 15.6}} {
		d.circle(x+p[0]*k, y+p[1]*k, 2*k, Blue, None, 0)
	}
	d.area(None, Blue, 1.5*k, x+8.4*k, y+8.4*k, x+15.6*k, y+8.4*k, x+15.6*k, y+15.6*k, x+8.4*k, y+15.6*k)
}
