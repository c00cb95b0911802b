package book

import (
	"math"
	"strconv"
	"strings"
)

// Ink is a colour that means something; the signs and heights beside it mean the same
// without it.
type Ink uint8

// The inks.
const (
	Black Ink = iota
	Grey
	Line   // hairlines
	Blue   // what is marked, and done
	Good   // new fit
	Worn   // out of limits
	Used   // serviceable
	Unsure // too close to call
	White
	Wash
	Shade
	None // draws nothing
)

// colours are those of the pages on white paper.
var colours = [...][3]float64{
	Black: {0.106, 0.129, 0.173}, Grey: {0.325, 0.341, 0.4}, Line: {0.69, 0.66, 0.6}, Blue: {0.102, 0.235, 0.62},
	Good: {0.09, 0.396, 0.247}, Worn: {0.643, 0.137, 0.102}, Used: {0.471, 0.314, 0}, Unsure: {0.416, 0.204, 0.533},
	White: {1, 1, 1}, Wash: {0.867, 0.89, 0.941}, Shade: {0.925, 0.9, 0.84},
}

// Drawing is a picture made of shapes, y downwards, drawn as PDF or as SVG.
type Drawing struct {
	Width, Height float64
	shapes        []shape
}

// shape is a path or a word.
type shape struct {
	path         []segment
	fill, stroke Ink
	width        float64
	dash         []float64
	evenOdd      bool

	text      string
	x, y      float64
	size      float64
	bold      bool
	alignment align
}

type align uint8

const (
	alignLeft align = iota
	alignMiddle
	alignRight
)

// segment is one step of a path: M, L, C or Z with its points.
type segment struct {
	op byte
	p  [6]float64
}

func (d *Drawing) add(s shape) { d.shapes = append(d.shapes, s) }

// line draws straight lines through points given as x, y pairs.
func (d *Drawing) line(ink Ink, width float64, points ...float64) {
	d.add(shape{path: polyline(points), fill: None, stroke: ink, width: width})
}

func polyline(points []float64) []segment {
	var p []segment
	for i := 0; i+1 < len(points); i += 2 {
		op := byte('L')
		if i == 0 {
			op = 'M'
		}
		p = append(p, segment{op, [6]float64{points[i], points[i+1]}})
	}
	return p
}

// area fills a polygon.
func (d *Drawing) area(fill, stroke Ink, width float64, points ...float64) {
	d.add(shape{path: append(polyline(points), segment{op: 'Z'}), fill: fill, stroke: stroke, width: width})
}

func (d *Drawing) rect(x, y, w, h float64, fill, stroke Ink, width float64) {
	d.area(fill, stroke, width, x, y, x+w, y, x+w, y+h, x, y+h)
}

// circle draws a circle of four arcs.
func (d *Drawing) circle(x, y, r float64, fill, stroke Ink, width float64) {
	const k = 0.5522847498307936 // quarter of a circle by a cubic, 4/3·(√2 − 1)
	d.add(shape{fill: fill, stroke: stroke, width: width, path: []segment{
		{'M', [6]float64{x + r, y}},
		{'C', [6]float64{x + r, y + k*r, x + k*r, y + r, x, y + r}},
		{'C', [6]float64{x - k*r, y + r, x - r, y + k*r, x - r, y}},
		{'C', [6]float64{x - r, y - k*r, x - k*r, y - r, x, y - r}},
		{'C', [6]float64{x + k*r, y - r, x + r, y - k*r, x + r, y}},
		{op: 'Z'},
	}})
}

// arc draws a part of a circle, angles in degrees, clockwise from the right.
func (d *Drawing) arc(x, y, r, from, to float64, ink Ink, width float64) {
	var pts []float64
	for n, i := 24, 0; i <= n; i++ {
		a := (from + (to-from)*float64(i)/float64(n)) * math.Pi / 180
		pts = append(pts, x+r*math.Cos(a), y+r*math.Sin(a))
	}
	d.line(ink, width, pts...)
}

func (d *Drawing) word(x, y, size float64, bold bool, ink Ink, a align, text string) {
	d.add(shape{text: text, x: x, y: y, size: size, bold: bold, fill: ink, alignment: a})
}

// hatch fills a box with slanted lines.
func (d *Drawing) hatch(x0, y0, x1, y1, gap float64, ink Ink, width float64) {
	h := y1 - y0
	for x := x0 - h; x < x1; x += gap {
		// The line rises to the right: from (x, y1) to (x+h, y0), cut to the box.
		ax, ay, bx, by := x, y1, x+h, y0
		if ax < x0 {
			ay -= x0 - ax
			ax = x0
		}
		if bx > x1 {
			by += bx - x1
			bx = x1
		}
		if bx-ax > 0.2 {
			d.line(ink, width, ax, ay, bx, by)
		}
	}
}

// parsePath reads the part of SVG path data that packs use: M L H V C Q Z, absolute
// and relative. It stops at what it does not know.
func parsePath(data string) []segment {
	var out []segment
	var op byte
	var nums []float64
	var x, y, sx, sy float64
	need := map[byte]int{'M': 2, 'L': 2, 'H': 1, 'V': 1, 'C': 6, 'Q': 4, 'Z': 0}
	flush := func() bool {
		if op == 0 {
			return true
		}
		up := op &^ 0x20
		n, known := need[up]
		if !known {
			return false
		}
		rel := op != up
		if up == 'Z' {
			out = append(out, segment{op: 'Z'})
			x, y = sx, sy
			return true
		}
		for first := true; len(nums) >= n; first = false {
			a := nums[:n]
			nums = nums[n:]
			at := func(i int, base float64) float64 {
				if rel {
					return a[i] + base
				}
				return a[i]
			}
			switch up {
			case 'M', 'L':
				x, y = at(0, x), at(1, y)
				o := byte('L')
				if up == 'M' && first {
					o, sx, sy = 'M', x, y
				}
				out = append(out, segment{o, [6]float64{x, y}})
			case 'H':
				x = at(0, x)
				out = append(out, segment{'L', [6]float64{x, y}})
			case 'V':
				y = at(0, y)
				out = append(out, segment{'L', [6]float64{x, y}})
			case 'C':
				p := [6]float64{at(0, x), at(1, y), at(2, x), at(3, y), at(4, x), at(5, y)}
				out = append(out, segment{'C', p})
				x, y = p[4], p[5]
			case 'Q':
				qx, qy, ex, ey := at(0, x), at(1, y), at(2, x), at(3, y)
				out = append(out, segment{'C', [6]float64{x + 2*(qx-x)/3, y + 2*(qy-y)/3, ex + 2*(qx-ex)/3, ey + 2*(qy-ey)/3, ex, ey}})
				x, y = ex, ey
			}
		}
		return true
	}
	for i := 0; i < len(data); {
		c := data[i]
		switch {
		case c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z':
			if !flush() {
				return out
			}
			op, nums = c, nil
			i++
		case c == ' ' || c == ',' || c == '\n' || c == '\t' || c == '\r':
			i++
		default:
			j := i + 1
			for j < len(data) && (data[j] >= '0' && data[j] <= '9' || data[j] == '.' && !strings.Contains(data[i:j], ".")) {
				j++
			}
			v, err := strconv.ParseFloat(data[i:j], 64)
			if err != nil {
				return out
			}
			nums = append(nums, v)
			i = j
		}
	}
	flush()
	return out
}

// path adds SVG path data, moved and scaled.
func (d *Drawing) path(data string, dx, dy, scale float64, fill, stroke Ink, width float64, evenOdd bool) {
	segments := parsePath(data)
	for i := range segments {
		for k := 0; k < 6; k += 2 {
			segments[i].p[k] = dx + scale*segments[i].p[k]
			segments[i].p[k+1] = dy + scale*segments[i].p[k+1]
		}
	}
	if len(segments) > 0 {
		d.add(shape{path: segments, fill: fill, stroke: stroke, width: width, evenOdd: evenOdd})
	}
}

// place copies another drawing into this one.
func (d *Drawing) place(o *Drawing, dx, dy, scale float64) {
	for _, s := range o.shapes {
		s.path = append([]segment(nil), s.path...)
		for i := range s.path {
			for k := 0; k < 6; k += 2 {
				s.path[i].p[k] = dx + scale*s.path[i].p[k]
				s.path[i].p[k+1] = dy + scale*s.path[i].p[k+1]
			}
		}
		s.x, s.y, s.size, s.width = dx+scale*s.x, dy+scale*s.y, scale*s.size, scale*s.width
		d.add(s)
	}
}
