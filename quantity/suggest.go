package quantity

import (
	"sort"
	"strings"
)

// The remedies that more than one refusal offers.
const (
	sides           = `write "<= 1.5 mm" for at most and ">= 1.0 mm" for at least`
	fractionHint    = `write the fraction out, like "1-1/2 in"`
	rangeHint       = `a range is written with two dots, like "1.0 .. 1.5 mm"`
	oneNumber       = `write one number and its unit, like "92.004 mm"`
	listed          = "the units are listed under Values in docs/pack-language.md; mm, in, thou, N·m, ft-lb, cc, deg and degC are among them"
	vulgarFractions = "½¼¾⅛⅜⅝⅞⅓⅔"
)

func atMost(word string) bool {
	return word == "max" || word == "max." || word == "maximum" || word == "under"
}

func atLeast(word string) bool {
	return word == "min" || word == "min." || word == "minimum" || word == "over"
}

// usualWords are the words and short forms that people write for a unit. None is
// read, because a pack should look the same whoever wrote it, but each is answered
// with the symbol. The words are in lower case.
var usualWords = map[string]string{}

func init() {
	for symbol, words := range map[string]string{
		"in":     "inches,ins",
		"ft":     "feet,foot,',′",
		"thou":   "thous,thousandth,thousandths,mils",
		"µm":     "micron,microns,micrometre,micrometres,micrometer,micrometers",
		"mm":     "millimetre,millimetres,millimeter,millimeters,mms",
		"cm":     "centimetre,centimetres,centimeter,centimeters,cms",
		"m":      "metre,metres,meter,meters",
		"km":     "kilometre,kilometres,kilometer,kilometers,kms",
		"mm2":    "sq mm,mm^2,square mm,square millimetres",
		"cm2":    "sq cm,cm^2",
		"m2":     "sq m,m^2",
		"sq in":  "square inch,square inches,in^2",
		"mm3":    "mm^3,cu mm",
		"cc":     "ccs,cm^3,cu cm,cubic centimetre,cubic centimetres",
		"mL":     "millilitre,millilitres,milliliter,milliliters,mls",
		"L":      "litre,litres,liter,liters,ltr,ltrs",
		"m3":     "m^3,cu m",
		"cu in":  "cubic inch,cubic inches,in^3,cid",
		"fl oz":  "fluid ounce,fluid ounces,floz",
		"pt":     "pint,pints,pts",
		"qt":     "quart,quarts,qts",
		"gal":    "gallon,gallons,gals",
		"imp pt": "imperial pint,imperial pints",
		"imp qt": "imperial quart,imperial quarts",
		"N":      "newton,newtons",
		"Pa":     "pascal,pascals",
		"psi":    "lbs/in2,lbs/in²,lbs/sq in",
		"bar":    "bars",
		"g":      "gram,grams,gramme,grammes,gm,gms",
		"kg":     "kilo,kilos,kgs,kilogram,kilograms",
		"N·m":    "n m,newton metre,newton metres,newton meter,newton meters,newton-metre,newton-metres,newton-meter,newton-meters",
		"ft-lb":  "ftlb,ftlbs,ftlbf,lbft,lbfft,foot pound,foot pounds,foot-pound,foot-pounds,foot lb,foot lbs,pound foot,pound feet,pound-foot,pound-feet,ft pounds",
		"in-lb":  "inlb,inlbs,inlbf,lbin,inch pound,inch pounds,inch-pound,inch-pounds,inch lb,inch lbs,pound inches,in pounds",
		"kgf·m":  "kg m,kgf m,mkg,mkgf,kpm",
		"lbf/in": "lbs/in,lbs/inch",
		"deg":    "degs",
		"turns":  "rev,revs,revolution,revolutions",
		"degC":   "deg c,degrees c,degree c,celsius,centigrade,º c,ºc,° c",
		"degF":   "deg f,degrees f,degree f,fahrenheit,ºf,° f",
		"s":      "secs",
		"min":    "mins",
		"h":      "hr,hrs",
		"r/min":  "rev/min,revs/min,r.p.m,r.p.m.,revolutions per minute",
		"hp":     "bhp,horsepower",
		"%":      "percent,per cent,pct",
	} {
		for _, word := range strings.Split(words, ",") {
			usualWords[word] = symbol
		}
	}
}

func unknownUnit(text string) error {
	says := "unknown unit " + quote(text)
	switch text {
	case "J", "kJ", "Wh", "kWh", "cal":
		return refuse(text, quote(text)+" is a unit of energy, which nothing here is measured in", "a torque is written N·m, ft-lb or in-lb")
	case "kg·m", "kg*m", "kg-m", "kgm":
		return refuse(text, quote(text)+" is not a torque", "write kgf·m")
	case `"`, "''", "″", "”":
		return refuse(text, says, "inches are written in")
	}
	if list := inOtherCase(text); len(list) > 0 {
		do := "symbols are case-sensitive; write " + list[0] + " if that is meant"
		if len(list) > 1 {
			do = "symbols are case-sensitive; write " + strings.Join(list, " or ") + ", whichever is meant"
		}
		return refuse(text, says, do)
	}
	lower := strings.ToLower(text)
	switch lower {
	case "c", "f":
		return refuse(text, says, "a temperature is written degC or degF")
	case "lbs", "pound", "pounds":
		return refuse(text, says, "write lb for a mass, lbf for a force and ft-lb or in-lb for a torque")
	case "ounce", "ounces", "ozs":
		return refuse(text, says, "write oz for a mass and fl oz for a volume")
	case "week", "weeks", "wk", "wks":
		return refuse(text, says, "write the time in days")
	}
	if symbol, ok := usualWords[lower]; ok {
		return refuse(text, says, "write "+symbol)
	}
	if undotted := strings.Join(strings.Fields(strings.ReplaceAll(lower, ".", " ")), " "); undotted != lower {
		if u, ok := knownUnit(undotted); ok {
			return refuse(text, says, "write "+u.Symbol+", without full stops")
		}
		if symbol, ok := usualWords[undotted]; ok {
			return refuse(text, says, "write "+symbol)
		}
	}
	first, _, _ := strings.Cut(lower, " ")
	last := lower[strings.LastIndex(lower, " ")+1:]
	switch {
	case strings.ContainsAny(text, vulgarFractions):
		return refuse(text, says, fractionHint)
	case first == "to", strings.HasPrefix(lower, "…"), strings.HasPrefix(lower, "—"):
		return refuse(text, says, rangeHint)
	case digitsApart(text):
		return refuse(text, says, oneNumber+", and do not group its digits")
	case last != lower && (atMost(last) || atLeast(last)):
		return refuse(text, says, sides)
	}
	return refuse(text, says, listed)
}

// inOtherCase lists the symbols that text would be, were case of no account. There
// can be two: NM may be nm or N·m.
func inOtherCase(text string) []string {
	found := map[string]bool{}
	for s := range atoms {
		if strings.EqualFold(s, text) {
			found[s] = true
		}
	}
	for s, symbol := range spellings {
		if strings.EqualFold(s, text) {
			found[symbol] = true
		}
	}
	list := make([]string, 0, len(found))
	for s := range found {
		list = append(list, s)
	}
	sort.Strings(list)
	return list
}

// digitsApart reports whether a digit follows something that is no letter, as in
// "mm 5", "'000 mm" or ":20" but not in "mm9".
func digitsApart(text string) bool {
	for i := range len(text) {
		if isDigit(text[i]) && (i == 0 || strings.ContainsAny(text[i-1:i], " '_:;/,")) {
			return true
		}
	}
	return false
}
