package web

import (
	"math"
	"strconv"
)

// box is a rectangle on the sheet of a pack.
type box struct{ left, top, right, bottom float64 }

var emptyBox = box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}

func (b box) with(o box) box {
	return box{math.Min(b.left, o.left), math.Min(b.top, o.top), math.Max(b.right, o.right), math.Max(b.bottom, o.bottom)}
}

func (b box) area() float64 { return (b.right - b.left) * (b.bottom - b.top) }

// pathNumbers is how many numbers each letter of SVG path data takes.
var pathNumbers = map[byte]int{'M': 2, 'L': 2, 'T': 2, 'H': 1, 'V': 1, 'C': 6, 'S': 4, 'Q': 4, 'A': 7, 'Z': 0}

// boxOfPath is the box around the ends and the handles of SVG path data, which lies no
// farther out than its curves need. What cannot be read adds nothing.
func boxOfPath(data string) box {
	b := emptyBox
	var letter byte
	var numbers []float64
	var x, y, startX, startY float64
	put := func(px, py float64) { b = b.with(box{px, py, px, py}) }
	flush := func() {
		upper := letter &^ 0x20
		n, known := pathNumbers[upper]
		relative := letter != upper
		for known && n > 0 && len(numbers) >= n {
			a := numbers[:n]
			numbers = numbers[n:]
			fromX, fromY := 0.0, 0.0
			if relative {
				fromX, fromY = x, y
			}
			switch upper {
			case 'H':
				x = a[0] + fromX
			case 'V':
				y = a[0] + fromY
			case 'A':
				x, y = a[5]+fromX, a[6]+fromY
			default:
				for i := 0; i+1 < n; i += 2 {
					put(a[i]+fromX, a[i+1]+fromY)
				}
				x, y = a[n-2]+fromX, a[n-1]+fromY
				if upper == 'M' {
					startX, startY = x, y
				}
			}
			put(x, y)
		}
		if upper == 'Z' {
			x, y = startX, startY
		}
		numbers = numbers[:0]
	}
	for i := 0; i < len(data); {
		c := data[i]
		switch {
		case c == 'e' || c == 'E' || c == '-' || c == '+' || c == '.' || c >= '0' && c <= '9':
			end := numberEnd(data, i)
			if v, err := strconv.ParseFloat(data[i:end], 64); err == nil && math.Abs(v) < 1e6 {
				numbers = append(numbers, v)
			}
			i = end
		case c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z':
			flush()
			letter = c
			i++
		default:
			i++
		}
	}
	flush()
	return b
}

// numberEnd is where a number in path data ends: a second point or a sign begins the next.
func numberEnd(data string, i int) int {
	point, exponent := false, false
	for k := i; k < len(data); k++ {
		switch c := data[k]; {
		case c >= '0' && c <= '9':
		case c == '.' && !point && !exponent:
			point = true
		case (c == '-' || c == '+') && (k == i || data[k-1] == 'e' || data[k-1] == 'E'):
		case (c == 'e' || c == 'E') && !exponent && k > i:
			exponent = true
		default:
			return max(k, i+1)
		}
	}
	return len(data)
}
