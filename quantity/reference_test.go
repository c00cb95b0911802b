package quantity

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// withoutReferences is the environment variable that lets tests pass where the
// programs they compare with cannot be installed.
const withoutReferences = "BUTTONUP_WITHOUT_REFERENCES"

// inGNUUnits says how GNU units writes each unit of this package that it knows by a
// definition of its own. Each name was chosen for what it is in that program's unit
// file, where h is Planck's constant, g the gram, pint the pint of whatever country
// the locale names, and a revolution 2π.
var inGNUUnits = map[string]string{
	"1": "1", "%": "percent",
	"nm": "nanometer", "µm": "micrometer", "mm": "millimeter", "cm": "centimeter", "m": "meter",
	"thou": "thou", "in": "inch", "ft": "foot", "km": "kilometer", "mile": "mile",
	"mm2": "mm^2", "cm2": "cm^2", "m2": "m^2", "sq in": "inch^2",
	"mm3": "mm^3", "cc": "cc", "mL": "milliliter", "L": "liter", "m3": "m^3", "cu in": "inch^3",
	"fl oz": "usfluidounce", "pt": "uspint", "qt": "usquart", "gal": "usgallon",
	"imp fl oz": "brfluidounce", "imp pt": "brpint", "imp qt": "brquart", "imp gal": "brgallon",
	"N": "newton", "kN": "kilonewton", "lbf": "lbf", "kgf": "kgf",
	"Pa": "pascal", "hPa": "hectopascal", "kPa": "kilopascal", "MPa": "megapascal", "GPa": "gigapascal",
	"mbar": "millibar", "bar": "bar", "psi": "psi", "ksi": "ksi",
	"mg": "milligram", "g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound", "slug": "slug",
	"N·m": "newton meter", "ft-lb": "lbf foot", "in-lb": "lbf inch", "kgf·m": "kgf meter",
	"deg": "degree", "rad": "radian", "turns": "circle", "flats": "circle/6",
	"K": "kelvin", "degC": "tempC", "degF": "tempF",
	"s": "second", "min": "minute", "h": "hour", "days": "day",
	"r/min": "1/minute", "Hz": "1/second",
	"W": "watt", "kW": "kilowatt", "hp": "horsepower", "PS": "metrichorsepower",

	// Put together from the atoms.
	"N/mm": "newton/millimeter", "lbf/in": "lbf/inch", "kgf/mm": "kgf/millimeter",
	"kgf/cm2": "kgf/cm^2", "lbf/in2": "lbf/inch^2", "N/mm²": "newton/mm^2",
	"kg/m3": "kilogram/m^3", "g/cc": "gram/cc", "lb/in3": "pound/inch^3", "oz/cu in": "ounce/inch^3",
	"g·mm": "gram millimeter", "oz·in": "ounce inch", "kg·mm": "kilogram millimeter",
	"m/s": "meter/second", "ft/min": "foot/minute", "m/min": "meter/minute",
	"m/s2": "meter/second^2", "in/s2": "inch/second^2",
	"lb·in2": "pound inch^2", "kg·m2": "kilogram meter^2", "g·mm²": "gram mm^2",
	"1/K":   "1/kelvin",
	"L/min": "liter/minute", "gal/h": "usgallon/hour", "cc/s": "cc/second",
	"m3/s": "m^3/second",
}

// notInGNUUnits are the units that cannot be compared, and why.
var notInGNUUnits = map[string]string{
	"inHg": "there it is a column of mercury of 13.5951 g/cc (3386.3882 Pa), here the rounded conventional 3386.389 Pa that NIST SP 811 prints",
}

// Two thousand conversions between random units of one dimension must come out as
// GNU units has them, which reads its own definitions and shares no code with this
// package.
//
// Source: GNU units (Debian package units), run by this test.
func TestConversionsAgainstGNUUnits(t *testing.T) {
	program, err := exec.LookPath("units")
	if err != nil {
		if os.Getenv(withoutReferences) == "1" {
			t.Skipf("GNU units is not installed and %s is 1: conversions are not compared with it", withoutReferences)
		}
		t.Fatalf("GNU units is not installed, and this test compares with it; install the Debian package units, or set %s=1 to go without", withoutReferences)
	}
	for _, symbol := range Symbols() {
		if inGNUUnits[symbol] == "" && notInGNUUnits[symbol] == "" {
			t.Errorf("the unit %s is in neither table: say how GNU units writes it, or why it cannot", symbol)
		}
	}

	alike := map[Dimension][]Unit{}
	for symbol := range inGNUUnits {
		u, err := ParseUnit(symbol)
		if err != nil {
			t.Fatal(err)
		}
		alike[u.Dimension] = append(alike[u.Dimension], u)
	}
	var units []Unit
	for _, list := range alike {
		sort.Slice(list, func(i, j int) bool { return list[i].Symbol < list[j].Symbol })
		units = append(units, list...)
	}
	sort.Slice(units, func(i, j int) bool { return units[i].Symbol < units[j].Symbol })

	type conversion struct {
		text     string
		from, to Unit
	}
	const wanted = 2000
	random := rand.New(rand.NewPCG(286, 1959))
	var list []conversion
	var input strings.Builder
	for i := range wanted {
		// Each unit in turn, so that none is left to chance, to a random other.
		from := units[i%len(units)]
		others := alike[from.Dimension]
		to := others[random.IntN(len(others))]
		x := math.Exp(random.Float64()*20 - 10)
		if random.IntN(4) == 0 && (from.Zero == 0 || x < 200) { // no reading below absolute zero
			x = -x
		}
		number := strconv.FormatFloat(x, 'g', 1+random.IntN(16), 64)
		list = append(list, conversion{from.join(number), from, to})
		name := inGNUUnits[from.Symbol]
		if from.Zero != 0 {
			input.WriteString(name + "(" + number + ")\n" + inGNUUnits[to.Symbol] + "\n")
		} else {
			input.WriteString(number + " (" + name + ")\n" + inGNUUnits[to.Symbol] + "\n")
		}
	}

	// -f '' reads the file that comes with the program and nobody's own.
	run := exec.Command(program, "-t", "-f", "", "--output-format", "%.15g")
	run.Stdin = strings.NewReader(input.String())
	run.Env = append(os.Environ(), "LC_ALL=C.UTF-8")
	output, err := run.Output()
	if err != nil {
		t.Fatalf("run GNU units: %v", err)
	}
	lines := strings.Split(strings.TrimSpace(string(output)), "\n")
	if len(lines) != wanted {
		t.Fatalf("GNU units gave %d lines for %d conversions, the first of them %q", len(lines), wanted, lines[0])
	}
	for i, c := range list {
		want, err := strconv.ParseFloat(strings.TrimSpace(lines[i]), 64)
		if err != nil {
			t.Fatalf("%s in %s: GNU units says %q", c.text, c.to.Symbol, lines[i])
		}
		q, err := Parse(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		got := c.to.In(q.SI)
		size := math.Abs(want)
		if c.to.Zero != 0 {
			size = math.Max(size, c.to.Zero) // a reading is a distance from absolute zero
		}
		if !(math.Abs(got-want) <= 1e-12*size) {
			t.Errorf("%s = %.17g %s, and GNU units says %s", c.text, got, c.to.Symbol, lines[i])
		}
	}
	t.Logf("%d conversions among %d units of %d dimensions agree with GNU units", wanted, len(units), len(alike))
}
