package web

import (
	"fmt"
	"html"
	"math"
	"slices"
	"strconv"
	"strings"
)

// patternDrawing draws the fasteners of a joint where they are, each with a ring of one
// arc a pass; numbers are the order of this pass, the next one is filled and has the
// pointer.
func patternDrawing(v *wrenchView) string {
	points := v.J.Joint.Points
	if len(points) < 2 {
		return ""
	}
	minX, maxX, minY, maxY := points[0][0], points[0][0], points[0][1], points[0][1]
	for _, p := range points {
		minX, maxX = math.Min(minX, p[0]), math.Max(maxX, p[0])
		minY, maxY = math.Min(minY, p[1]), math.Max(maxY, p[1])
	}
	const width, most, edge = 358.0, 300.0, 44.0
	k := 100.0
	if maxX > minX {
		k = (width - 2*edge) / (maxX - minX)
	}
	if maxY > minY {
		k = math.Min(k, (most-2*edge)/(maxY-minY))
	}
	// Two fasteners that lie close still get a thumb each.
	height := math.Max((maxY-minY)*k+2*edge, 2*edge)
	left := (width - (maxX-minX)*k) / 2
	at := func(i int) (x, y float64) {
		p := points[i]
		return left + (p[0]-minX)*k, height - edge - (p[1]-minY)*k
	}
	radius := math.Min(24, closest(points)*k/2-4)
	radius = math.Max(radius, 10)
	var d drawing
	outline(&d, points, at, radius+14)
	pass := min(v.At, len(v.Passes)-1)
	now := &v.Passes[pass]
	next := now.next()
	for i := range points {
		x, y := at(i)
		n := i + 1
		d.rings(v, n, x, y, radius+5)
		number := slices.Index(now.Order, n) + 1
		switch {
		case v.At >= len(v.Passes) || now.Done[n]:
			d.add(`<circle cx="%s" cy="%s" r="%s" class="f-bluew s-blue" stroke-width="1.6"/>`, px(x), px(y), px(radius))
		case n == next || number > 0 && !v.J.Joint.ConfirmPoint && next == now.Order[0] && n == next:
			d.add(`<circle cx="%s" cy="%s" r="%s" class="f-fill"/>`, px(x), px(y), px(radius))
			d.add(`<path d="M%s %sh14l-7 12z" class="f-blue s-paper" stroke-width="1.4"/>`, px(x-7), px(y-radius-20))
		default:
			d.add(`<circle cx="%s" cy="%s" r="%s" class="f-sheet s-ink" stroke-width="1.6"/>`, px(x), px(y), px(radius))
		}
		if number > 0 {
			class := "m b mid t22"
			if n == next && v.At < len(v.Passes) {
				class += " cob"
			} else if now.Done[n] {
				class += " cb"
			}
			d.text(x, y+8, class, strconv.Itoa(number))
		}
	}
	return svg(fmt.Sprintf(`class="dr pattern" viewBox="0 0 358 %s" role="img" aria-label="%s"`, px(height), html.EscapeString(patternWords(v))), &d)
}

// closest is the smallest distance between two fasteners.
func closest(points [][2]float64) float64 {
	least := math.Inf(1)
	for i := range points {
		for j := range i {
			least = math.Min(least, math.Hypot(points[i][0]-points[j][0], points[i][1]-points[j][1]))
		}
	}
	return least
}

// outline draws a plain plate round the fasteners: the convex hull, moved out.
func outline(d *drawing, points [][2]float64, at func(int) (float64, float64), out float64) {
	type xy struct{ x, y float64 }
	var list []xy
	var cx, cy float64
	for i := range points {
		x, y := at(i)
		list = append(list, xy{x, y})
		cx, cy = cx+x/float64(len(points)), cy+y/float64(len(points))
	}
	slices.SortFunc(list, func(a, b xy) int {
		if a.x != b.x {
			return int(math.Copysign(1, a.x-b.x))
		}
		return int(math.Copysign(1, a.y-b.y))
	})
	half := func(list []xy) []xy {
		var hull []xy
		for _, p := range list {
			for len(hull) >= 2 {
				a, b := hull[len(hull)-2], hull[len(hull)-1]
				if (b.x-a.x)*(p.y-a.y)-(b.y-a.y)*(p.x-a.x) > 0 {
					break
				}
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
		}
		return hull[:len(hull)-1]
	}
	lower := half(list)
	slices.Reverse(list)
	hull := append(lower, half(list)...)
	if len(hull) < 2 {
		return
	}
	var path strings.Builder
	for i, p := range hull {
		length := math.Hypot(p.x-cx, p.y-cy)
		if length < 1 {
			length = 1
		}
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		fmt.Fprintf(&path, "%s%s %s", letter, px(p.x+(p.x-cx)/length*out), px(p.y+(p.y-cy)/length*out))
	}
	if len(hull) == 2 {
		d.add(`<path d="%s" class="s-line2 f-none" stroke-width="1.5" stroke-dasharray="6 5"/>`, path.String())
		return
	}
	d.add(`<path d="%sZ" class="s-ink f-sheet" stroke-width="1.6" stroke-linejoin="round"/>`, path.String())
}

// rings draws one arc a pass round a fastener, filled for those that are done.
func (d *drawing) rings(v *wrenchView, n int, x, y, r float64) {
	count := len(v.Passes)
	for i := range v.Passes {
		if !slices.Contains(v.Passes[i].Order, n) {
			continue
		}
		class := "s-line2"
		if v.Passes[i].Done[n] {
			class = "s-blue"
		}
		a0 := 2*math.Pi*float64(i)/float64(count) - math.Pi/2 + 0.12
		a1 := 2*math.Pi*float64(i+1)/float64(count) - math.Pi/2 - 0.12
		large := 0
		if a1-a0 > math.Pi {
			large = 1
		}
		d.add(`<path d="M%s %sA%s %s 0 %d 1 %s %s" class="%s f-none" stroke-width="4.5"/>`,
			px(x+r*math.Cos(a0)), px(y+r*math.Sin(a0)), px(r), px(r), large, px(x+r*math.Cos(a1)), px(y+r*math.Sin(a1)), class)
	}
}

func patternWords(v *wrenchView) string {
	if v.At >= len(v.Passes) {
		return fmt.Sprintf("Pattern of %d fasteners, all passes done", len(v.J.Joint.Points))
	}
	p := &v.Passes[v.At]
	var order []string
	for _, n := range p.Order {
		order = append(order, strconv.Itoa(n))
	}
	return fmt.Sprintf("Pattern of %d fasteners, pass %d of %d, in the order %s as the pack counts them; next is %d", len(v.J.Joint.Points), p.Number, len(v.Passes), strings.Join(order, ", "), p.next())
}

// ladder draws the passes as steps, with a line before the one from which there is no
// way back without new parts.
func ladder(v *wrenchView) string {
	n := len(v.Passes)
	if n < 2 {
		return ""
	}
	const width, base = 358.0, 112.0
	gap := 14.0
	if n > 5 {
		gap = 6
	}
	w := (width - gap*float64(n-1)) / float64(n)
	high := 0.0
	for _, p := range v.Passes {
		high = math.Max(high, p.Torque)
	}
	var d drawing
	for i, p := range v.Passes {
		x := float64(i) * (w + gap)
		h := 52.0
		if high > 0 && p.Torque > 0 {
			h = 44 + 30*p.Torque/high
		}
		fill, text, small := "f-sheet s-ink", "b mid t18", "mid c2 t12"
		switch {
		case i == v.At:
			fill, text, small = "f-fill", "b mid t18 cob", "mid t12 cob"
		case i < v.At:
			fill, text = "f-bluew s-blue", "b mid t18 cb"
		}
		d.add(`<rect x="%s" y="%s" width="%s" height="%s" class="%s" stroke-width="1.4"/>`, px(x+1), px(base-h), px(w-2), px(h), fill)
		d.text(x+w/2, base-h+24, text, p.Figure)
		if w > 56 && p.Other != "" {
			d.text(x+w/2, base-h+41, small, p.Other)
		}
		if i < v.At {
			d.add(`<path d="M%s %sl4 4 8-9" class="s-blue f-none" stroke-width="2.4"/>`, px(x+w/2-5), px(base-9))
		}
		label := "pass " + strconv.Itoa(p.Number)
		if w < 48 {
			label = strconv.Itoa(p.Number)
		}
		class := "mid c2"
		if i == v.At {
			class = "mid b cb"
		}
		d.text(x+w/2, base+18, class, label)
	}
	if k := v.J.Joint.PointOfNoReturn; k >= 1 && k <= n {
		x := math.Max(float64(k-1)*(w+gap)-gap/2, 2)
		d.add(`<path d="M%s 8V%s" class="s-blue" stroke-width="5"/>`, px(x), px(base+24))
		word := "closes here"
		if v.At >= k {
			word = "closed here"
		}
		if x > 100 {
			d.text(x-8, 18, "b cb end", word)
		} else {
			d.text(x+8, 18, "b cb", word)
		}
	}
	return svg(fmt.Sprintf(`class="dr ladder" viewBox="0 0 358 138" role="img" aria-label="%s"`, html.EscapeString(ladderWords(v))), &d)
}

func ladderWords(v *wrenchView) string {
	var list []string
	for i, p := range v.Passes {
		says := fmt.Sprintf("pass %d %s", p.Number, p.Figure)
		if i < v.At {
			says += " done"
		}
		list = append(list, says)
	}
	says := strings.Join(list, ", ")
	if k := v.J.Joint.PointOfNoReturn; k >= 1 {
		says += fmt.Sprintf("; from pass %d it cannot be undone without new parts", k)
	}
	return says
}

// leftHand draws the way to turn a left-hand thread to tighten it: against the clock.
func leftHand() string {
	var d drawing
	d.add(`<path d="M90 52A38 38 0 1 0 52 90" class="s-worn f-none" stroke-width="9"/>`)
	d.add(`<path d="M50 74v32l24-16z" class="f-worn"/>`)
	return svg(`class="dr lefthand" width="104" height="104" viewBox="0 0 104 104" role="img" aria-label="Arrow against the clock: a left-hand thread tightens this way"`, &d)
}
