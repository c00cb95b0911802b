package journal

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"
)

// The examples of RFC 3339 section 5.8. Seen: a stored copy of its text. The instants were
// computed with GNU date 9.1 (date -u -d STRING +%s.%N); it refuses leap seconds,
// which we read as the second after, so theirs is that of 1991-01-01T00:00:00Z.
func TestTimeOfRFC3339Examples(t *testing.T) {
	for _, c := range []struct {
		text   string
		millis int64
	}{
		{"1985-04-12T23:20:50.52Z", 482196050520},
		{"1996-12-19T16:39:57-08:00", 851042397000},
		{"1990-12-31T23:59:60Z", 662688000000},
		{"1990-12-31T15:59:60-08:00", 662688000000},
		{"1937-01-01T12:00:27.87+00:20", -1041337172130},
	} {
		got, ok := parseTime(c.text)
		if !ok || got.UnixMilli() != c.millis {
			t.Errorf("%s: %v (%d ms), %v; want %d ms", c.text, got, got.UnixMilli(), ok, c.millis)
		}
	}
}

func TestTimeRefused(t *testing.T) {
	for _, text := range []string{
		"", "yesterday", "2026-03-02", "2026-03-02T10:04Z", "2026-03-02T10:04:00", "2026-03-02 10:04:00Z",
		"2026-3-2T10:04:00Z", "2026-03-02T1:04:00Z", "26-03-02T10:04:00ZZZ", "2026-03-02T10:04:00z0",
		"2026-13-02T10:04:00Z", "2026-00-02T10:04:00Z", "2026-02-29T10:04:00Z", "2026-04-31T10:04:00Z", "2026-03-00T10:04:00Z",
		"1900-02-29T10:04:00Z", "2026-03-02T24:00:00Z", "2026-03-02T10:60:00Z", "2026-03-02T10:04:61Z",
		"2026-03-02T10:04:60Z", "2026-03-02T10:04:00.Z", "2026-03-02T10:04:00.5", "2026-03-02T10:04:00,5Z",
		"2026-03-02T10:04:00+1:00", "2026-03-02T10:04:00+01", "2026-03-02T10:04:00+0100", "2026-03-02T10:04:00+24:00",
		"2026-03-02T10:04:00+01:60", "2026-03-02T10:04:00Z ", " 2026-03-02T10:04:00Z", "2026-03-02T10:04:00+01:00Z",
		"0001-01-01T00:00:00Z", "9999-12-31T23:59:60Z", "+026-03-02T10:04:00Z", "2026-03-02T10:04:00−01:00",
	} {
		if got, ok := parseTime(text); ok {
			t.Errorf("%q is taken for %v", text, got)
		}
	}
}

// What RFC 3339 allows beyond the usual: lower case, any number of decimals, the
// unknown offset.
func TestTimeAllowed(t *testing.T) {
	want := time.Date(2024, 2, 29, 10, 4, 0, 123456789, time.UTC)
	for _, text := range []string{
		"2024-02-29T10:04:00.123456789Z", "2024-02-29t10:04:00.123456789z", "2024-02-29T10:04:00.1234567890001Z",
		"2024-02-29T10:04:00.123456789-00:00", "2024-03-01T10:03:00.123456789+23:59",
	} {
		if got, ok := parseTime(text); !ok || !got.Equal(want) {
			t.Errorf("%s: %v, %v; want %v", text, got, ok, want)
		}
	}
}

var errOffset = errors.New("an offset has at most 23 hours and 59 minutes")

// Two ways: the standard library's parser agrees with ours on what it writes, and
// ours takes nothing that it refuses, leap seconds and lower case aside.
func TestTimeAgainstStandardLibrary(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 339))
	const symbols = "0123456789:-+.TZ"
	taken := 0
	for range 60_000 {
		at := time.Unix(rng.Int64N(250e9)-62e9, rng.Int64N(2)*rng.Int64N(1e9)).
			In(time.FixedZone("", 60*(rng.IntN(2*1439)-1439)))
		text := []byte(at.Format(time.RFC3339Nano))
		if rng.IntN(2) == 0 {
			text[rng.IntN(len(text))] = symbols[rng.IntN(len(symbols))]
		}
		var want time.Time
		err := want.UnmarshalText(text)
		got, ok := parseTime(string(text))
		if len(text) > 18 && text[17] == '6' && text[18] == '0' {
			continue // a leap second, which the standard library does not know
		}
		if tail := string(text[len(text)-6:]); err == nil && (tail[1:3] == "24" || tail[3:] == ":60") {
			err = errOffset // the standard library takes an offset of 24:00 or 00:60
		}
		if ok {
			taken++
		}
		if ok != (err == nil) || ok && !got.Equal(want) {
			t.Fatalf("%s: ours %v, %v; the standard library's %v, %v", text, got, ok, want, err)
		}
	}
	if taken < 30_000 {
		t.Errorf("only %d times were taken: the test has lost its sense", taken)
	}
}
