package cli

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
)

// run gives a command line as a user does and holds the output to what is promised
// for all; see checkOutput.
func run(t testing.TB, code int, args ...string) (stdout, stderr []byte) {
	t.Helper()
	return runWith(t, code, "", args...)
}

func runWith(t testing.TB, code int, stdin string, args ...string) (stdout, stderr []byte) {
	t.Helper()
	var out, err bytes.Buffer
	if got := Main(args, strings.NewReader(stdin), &out, &err); got != code {
		t.Fatalf("buttonup %s: exit code %d, want %d\n%.2000s%.2000s", strings.Join(args, " "), got, code, out.Bytes(), err.Bytes())
	}
	if e := checkOutput(args, code, out.Bytes(), err.Bytes()); e != nil {
		t.Fatalf("buttonup %s: %v", strings.Join(args, " "), e)
	}
	return out.Bytes(), err.Bytes()
}

// decode reads JSON and refuses fields that v does not have.
func decode(t testing.TB, text []byte, v any) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		t.Fatalf("%v in %.500s", err, text)
	}
}
