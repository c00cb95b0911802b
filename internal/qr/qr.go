// Package qr makes the squares of a QR code (ISO/IEC 18004). It is the one door to the
// library that knows how, and knows nothing of what is printed or shown with them.
package qr

import (
	"fmt"

	"github.com/piglig/go-qr"
)

// Quiet is how many white squares must stand round a code.
const Quiet = 4

// Squares returns the squares of a code for a text, row by row, true for a dark one,
// without the white ones round it. A dirty label with a seventh of it lost is still
// read.
func Squares(text string) ([][]bool, error) {
	code, err := go_qr.EncodeText(text, go_qr.Medium)
	if err != nil {
		return nil, fmt.Errorf("a QR code for %d characters: %w", len(text), err)
	}
	n := code.Size()
	out := make([][]bool, n)
	for y := range n {
		out[y] = make([]bool, n)
		for x := range n {
			out[y][x] = code.Module(x, y)
		}
	}
	return out, nil
}
