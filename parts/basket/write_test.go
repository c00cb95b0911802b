package basket

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

var (
	writeTo   = flag.String("write", "", "folder to write one generated problem to as an integer program, with our answer and its time")
	oneFamily = flag.String("family", "sparse", "family of the problem")
	oneSeed   = flag.Uint64("seed", 1, "seed of the problem")
)

// bench/basket.py starts this to measure: five solutions after one to warm up, the
// quickest counts. The problem is read in before the clock starts.
func TestWrite(t *testing.T) {
	if *writeTo == "" {
		t.Skip("measures only where -write says so")
	}
	p := generate(familyNamed(*oneFamily), *oneSeed)
	var out struct {
		Status  string
		Total   int64
		Reasons int
		Steps   int
		Seconds float64
	}
	for i := range 6 {
		start := time.Now()
		r, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		seconds := time.Since(start).Seconds()
		if i == 1 || i > 1 && seconds < out.Seconds {
			out.Seconds = seconds
		}
		out.Status, out.Total, out.Reasons, out.Steps = r.Status.String(), r.Total, len(r.Because), r.Steps
	}
	name := filepath.Join(*writeTo, *oneFamily+"-"+strconv.FormatUint(*oneSeed, 10))
	l := newLinear(p)
	if err := l.write(name + ".lp"); err != nil {
		t.Fatal(err)
	}
	if err := l.writeArrays(name + ".json"); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name+".ours", data, 0o600); err != nil {
		t.Fatal(err)
	}
}
