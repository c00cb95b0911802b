package fit

// The tables of ISO 286-1 over 1 to 500 mm, in micrometres. The rows are the steps
// of nominal size, each over the end of the one before up to and including its own.
//
// Source: ISO 286-1 and ISO 286-2. Which values were seen in print and which are
// from memory stands in docs/sources/iso-286.md; the tests hold all of them against
// the formulas that the tables were rounded from.

// steps are the upper ends of the steps of nominal size, in mm.
var steps = [...]float64{3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500}

// lowestGrade is IT01, which stands before IT0. A grade n ≥ 1 is itself.
const (
	lowestGrade  = -1
	highestGrade = 16
)

// widths are the standard tolerances; the columns are IT01, IT0, IT1 … IT16.
var widths = [len(steps)][highestGrade - lowestGrade + 1]float64{
	{0.3, 0.5, 0.8, 1.2, 2, 3, 4, 6, 10, 14, 25, 40, 60, 100, 140, 250, 400, 600},
	{0.4, 0.6, 1, 1.5, 2.5, 4, 5, 8, 12, 18, 30, 48, 75, 120, 180, 300, 480, 750},
	{0.4, 0.6, 1, 1.5, 2.5, 4, 6, 9, 15, 22, 36, 58, 90, 150, 220, 360, 580, 900},
	{0.5, 0.8, 1.2, 2, 3, 5, 8, 11, 18, 27, 43, 70, 110, 180, 270, 430, 700, 1100},
	{0.6, 1, 1.5, 2.5, 4, 6, 9, 13, 21, 33, 52, 84, 130, 210, 330, 520, 840, 1300},
	{0.6, 1, 1.5, 2.5, 4, 7, 11, 16, 25, 39, 62, 100, 160, 250, 390, 620, 1000, 1600},
	{0.8, 1.2, 2, 3, 5, 8, 13, 19, 30, 46, 74, 120, 190, 300, 460, 740, 1200, 1900},
	{1, 1.5, 2.5, 4, 6, 10, 15, 22, 35, 54, 87, 140, 220, 350, 540, 870, 1400, 2200},
	{1.2, 2, 3.5, 5, 8, 12, 18, 25, 40, 63, 100, 160, 250, 400, 630, 1000, 1600, 2500},
	{2, 3, 4.5, 7, 10, 14, 20, 29, 46, 72, 115, 185, 290, 460, 720, 1150, 1850, 2900},
	{2.5, 4, 6, 8, 12, 16, 23, 32, 52, 81, 130, 210, 320, 520, 810, 1300, 2100, 3200},
	{3, 5, 7, 9, 13, 18, 25, 36, 57, 89, 140, 230, 360, 570, 890, 1400, 2300, 3600},
	{4, 6, 8, 10, 15, 20, 27, 40, 63, 97, 155, 250, 400, 630, 970, 1550, 2500, 4000},
}

// above are the upper deviations es of the shafts that lie below the nominal size,
// as distances from it.
var above = map[string][len(steps)]float64{
	"d": {20, 30, 40, 50, 65, 80, 100, 120, 145, 170, 190, 210, 230},
	"e": {14, 20, 25, 32, 40, 50, 60, 72, 85, 100, 110, 125, 135},
	"f": {6, 10, 13, 16, 20, 25, 30, 36, 43, 50, 56, 62, 68},
	"g": {2, 4, 5, 6, 7, 9, 10, 12, 14, 15, 17, 18, 20},
	"h": {},
}

// below are the lower deviations ei of the shafts that lie above the nominal size.
// Those of k hold for IT4 to IT7; in every other grade k begins at the nominal size.
var below = map[string][len(steps)]float64{
	"k": {0, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 5},
	"m": {2, 4, 6, 7, 8, 9, 11, 13, 15, 17, 20, 21, 23},
	"n": {4, 8, 10, 12, 15, 17, 20, 23, 27, 31, 34, 37, 40},
	"p": {6, 12, 15, 18, 22, 26, 32, 37, 43, 50, 56, 62, 68},
}

// fineSteps are the upper ends of the steps for r and s, which above 50 mm divide
// each step in two or three.
var fineSteps = [...]float64{3, 6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315, 355, 400, 450, 500}

// fineBelow are the lower deviations ei of r and s.
var fineBelow = map[string][len(fineSteps)]float64{
	"r": {10, 15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98, 108, 114, 126, 132},
	"s": {14, 19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170, 190, 208, 232, 252},
}

// stepOf is the index of the step that mm lies in.
func stepOf(ends []float64, mm float64) int {
	for i, end := range ends {
		if mm <= end {
			return i
		}
	}
	return len(ends) - 1
}
