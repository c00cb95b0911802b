package basket

import (
	"flag"
	"fmt"
	"path/filepath"
	"testing"
)

var writeTo = flag.String("write", "", "folder to write generated problems to, as integer programs")
var onlyFamily = flag.String("family", "", "")

func TestWrite(t *testing.T) {
	if *writeTo == "" {
		t.Skip("writes only where -write says")
	}
	f := familyNamed(*onlyFamily)
	for seed := range uint64(10) {
		l := newLinear(generate(f, seed+1))
		name := filepath.Join(*writeTo, fmt.Sprintf("%s-%d", f.name, seed+1))
		if err := l.write(name + ".lp"); err != nil {
			t.Fatal(err)
		}
		if err := l.writeArrays(name + ".json"); err != nil {
			t.Fatal(err)
		}
	}
}
