package selectfit

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// withoutReferences is the environment variable that lets tests pass where the
// programs they compare with cannot be installed.
const withoutReferences = "BUTTONUP_WITHOUT_REFERENCES"

// Fifty places and eighty parts, forty times, half of them with pairs that may not
// be: the sum must be that of scipy's linear_sum_assignment, to the last unit.
//
// Source: scipy (Debian package python3-scipy), run by this test.
func TestAssignAgainstScipy(t *testing.T) {
	python := ""
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import scipy.optimize").Run() == nil {
			python = name
			break
		}
	}
	if python == "" {
		if os.Getenv(withoutReferences) == "1" {
			t.Skipf("scipy is not installed and %s is 1: assignments are not compared with it", withoutReferences)
		}
		t.Fatalf("scipy is not installed, and this test compares with it; install the Debian package python3-scipy, or set %s=1 to go without", withoutReferences)
	}
	r := rand.New(rand.NewPCG(4, 13))
	var cases []costs
	for n := range 40 {
		cases = append(cases, randomCosts(r, 50, 80, []float64{0, 0.8}[n%2], []int64{50, 1_000_000_000}[n/2%2]))
	}
	question, err := json.Marshal(cases)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, filepath.Join("testdata", "assign.py"))
	cmd.Stdin = bytes.NewReader(question)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var totals []int64
	if err := json.Unmarshal(out, &totals); err != nil || len(totals) != len(cases) {
		t.Fatalf("%v: %s", err, out)
	}
	for n, c := range cases {
		a := assign(c)
		if a.served() != len(c) {
			t.Fatalf("case %d: only %d of %d are served", n, a.served(), len(c))
		}
		if got := totalOf(t, c, a.column); got != totals[n] {
			t.Errorf("case %d: %d, scipy has %d", n, got, totals[n])
		}
	}
}
