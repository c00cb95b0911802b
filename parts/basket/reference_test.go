package basket

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// withoutReferences is the environment variable that lets tests pass where the
// programs they compare with cannot be installed.
const withoutReferences = "BUTTONUP_WITHOUT_REFERENCES"

// Problems of several families as integer programs: three general-purpose solvers
// must prove the same least total.
//
// Source: CBC, GLPK and HiGHS through scipy (Debian packages coinor-cbc, glpk-utils,
// python3-scipy), run by this test.
func TestAgainstSolvers(t *testing.T) {
	solvers := []struct {
		name, its string
		there     func() bool
		total     func(t *testing.T, file string) int64
	}{
		{"CBC", "coinor-cbc", onPath("cbc"), cbc}, {"GLPK", "glpk-utils", onPath("glpsol"), glpk}, {"HiGHS", "python3-scipy", func() bool { return python() != "" }, highs},
	}
	small := family{name: "small", places: 25, parts: 400, suppliers: 4, sizes: 3, within: 18, exclusions: 0.5, needs: 0.2, freeOver: true, packs: true}
	folder := t.TempDir()
	problems := map[string]*Problem{"shop": generate(familyNamed("shop"), 1), "shop 2": generate(familyNamed("shop"), 2), "small": generate(small, 1), "small 2": generate(small, 2), "small 3": generate(small, 3)}
	for name, p := range problems {
		r, err := Solve(p)
		if err != nil || r.Status != Optimal {
			t.Errorf("%s: %v, %v", name, r.Status, err)
			continue
		}
		file := filepath.Join(folder, name)
		l := newLinear(p)
		if err := l.write(file + ".lp"); err != nil {
			t.Fatal(err)
		}
		if err := l.writeArrays(file + ".json"); err != nil {
			t.Fatal(err)
		}
		for _, s := range solvers {
			if !s.there() {
				if os.Getenv(withoutReferences) == "1" {
					continue
				}
				t.Fatalf("%s is not installed, and this test compares with it; install the Debian package %s, or set %s=1 to go without", s.name, s.its, withoutReferences)
			}
			if total := s.total(t, file); total != r.Total {
				t.Errorf("%s: %s proves %d, we say %d", name, s.name, total, r.Total)
			}
		}
	}
}

func onPath(name string) func() bool {
	return func() bool { _, err := exec.LookPath(name); return err == nil }
}

func python() string {
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import scipy.optimize; scipy.optimize.milp").Run() == nil {
			return name
		}
	}
	return ""
}

var (
	cbcProof  = regexp.MustCompile(`Optimal solution found\s+Objective value:\s+([0-9.]+)`)
	glpkProof = regexp.MustCompile(`INTEGER OPTIMAL\s+Objective:\s+obj = ([0-9.e+]+)`)
)

func proven(t *testing.T, found []string, said []byte) int64 {
	t.Helper()
	if found == nil {
		t.Fatalf("no proof in %s", said)
	}
	v, err := strconv.ParseFloat(found[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return int64(v + 0.5)
}

func cbc(t *testing.T, file string) int64 {
	out, err := exec.Command("cbc", file+".lp", "ratio", "0", "allow", "0", "solve", "quit").CombinedOutput()
	if err != nil {
		t.Fatal(err)
	}
	return proven(t, cbcProof.FindStringSubmatch(string(out)), out)
}

func glpk(t *testing.T, file string) int64 {
	out, err := exec.Command("glpsol", "--lp", file+".lp", "--cuts", "-o", file+".txt").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	said, err := os.ReadFile(file + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	return proven(t, glpkProof.FindStringSubmatch(string(said)), said)
}

func highs(t *testing.T, file string) int64 {
	out, err := exec.Command(python(), filepath.Join("..", "..", "bench", "basket_milp.py"), file+".json").Output()
	if err != nil {
		t.Fatal(err)
	}
	var answer struct{ Status, Total int64 }
	if err := json.Unmarshal(out, &answer); err != nil || answer.Status != 0 {
		t.Fatalf("%s: %v", out, err)
	}
	return answer.Total
}
