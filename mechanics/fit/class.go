package fit

import (
	"strconv"
	"strings"

	"buttonup/mechanics/argument"
)

const (
	holes  = "D E F G H JS K M N P R S"
	shafts = "d e f g h js k m n p r s"
	grades = "01, 0 or 1 to 16"
)

// class is a tolerance class: H7, js5.
type class struct {
	letter string // as the shaft's: lower case
	hole   bool
	grade  int
}

func (c class) String() string {
	letter := c.letter
	if c.hole {
		letter = strings.ToUpper(letter)
	}
	return letter + gradeText(c.grade)
}

func gradeText(grade int) string {
	if grade == lowestGrade {
		return "01"
	}
	return strconv.Itoa(grade)
}

// parseGrade reads the digits of a grade: "01", "0", "7".
func parseGrade(digits string) (int, bool) {
	if digits == "01" {
		return lowestGrade, true
	}
	n, err := strconv.Atoi(digits)
	return n, err == nil && n <= highestGrade && n >= 0 && digits == strconv.Itoa(n)
}

// parseClass reads "H7" or "g6".
func parseClass(text string) (class, error) {
	text = strings.TrimSpace(text)
	cut := strings.IndexAny(text, "0123456789")
	if cut <= 0 {
		return class{}, argument.Refuse("grade", "the tolerance class "+strconv.Quote(text)+" is not a letter and a grade", `write it like "H7" for a hole or "g6" for a shaft`)
	}
	letter, digits := text[:cut], text[cut:]
	c := class{letter: strings.ToLower(letter)}
	switch {
	case listed(holes, letter):
		c.hole = true
	case listed(shafts, letter):
	default:
		return class{}, argument.Refuse("grade", "the letter of the tolerance class "+strconv.Quote(text)+" is not known", "known are "+holes+" for holes and "+shafts+" for shafts")
	}
	grade, ok := parseGrade(digits)
	if !ok {
		return class{}, argument.Refuse("grade", "the grade of the tolerance class "+strconv.Quote(text)+" is not known", "known are the grades "+grades)
	}
	c.grade = grade
	return c, nil
}

func listed(list, letter string) bool {
	for _, l := range strings.Fields(list) {
		if l == letter {
			return true
		}
	}
	return false
}
