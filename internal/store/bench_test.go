package store

import (
	"bytes"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// report adds the middle and the slow end of some durations to a benchmark.
func report(b *testing.B, took []time.Duration) {
	b.Helper()
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds()), "p50-µs")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds()), "p99-µs")
}

// BenchmarkAppend is one reading typed at the bench: one event, one sync.
func BenchmarkAppend(b *testing.B) {
	for _, c := range []struct {
		name           string
		readers, heaps int
	}{{"alone", 0, 1}, {"beside 4 readers", 4, 1}, {"50 at once", 0, 50}} {
		b.Run(c.name, func(b *testing.B) {
			s := mustOpen(b, folder(b))
			mustJob(b, s, "j-1")
			mustJob(b, s, "read")
			for i := range 2000 {
				mustAppend(b, s, "read", killLine(i))
			}
			var stop atomic.Bool
			var wg sync.WaitGroup
			for range c.readers {
				wg.Go(func() {
					for !stop.Load() {
						mustRead(b, s, "read")
					}
				})
			}
			took := make([]time.Duration, 0, b.N)
			n := 0
			for b.Loop() {
				lines := make([][]byte, c.heaps)
				for i := range lines {
					lines[i] = reading(fmt.Sprintf("b-%d", n), "92.004 mm")
					n++
				}
				start := time.Now()
				mustAppend(b, s, "j-1", lines...)
				took = append(took, time.Since(start))
			}
			stop.Store(true)
			wg.Wait()
			report(b, took)
		})
	}
}

// BenchmarkRead is what a page needs before it can assess a job of 2,000 events.
func BenchmarkRead(b *testing.B) {
	s := mustOpen(b, folder(b))
	mustJob(b, s, "j-1")
	for i := range 2000 {
		mustAppend(b, s, "j-1", killLine(i))
	}
	for b.Loop() {
		if _, err := s.Journal(ctx, "j-1"); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPutPhoto is one photo of 300 kB, as a phone sends it after shrinking it.
func BenchmarkPutPhoto(b *testing.B) {
	s := mustOpen(b, folder(b))
	r := seeded(b, 1)
	photo := randomBytes(r, 300<<10)
	took := make([]time.Duration, 0, b.N)
	for b.Loop() {
		copy(photo, randomBytes(r, 16))
		start := time.Now()
		if _, _, err := s.PutPhoto(ctx, bytes.NewReader(photo)); err != nil {
			b.Fatal(err)
		}
		took = append(took, time.Since(start))
	}
	report(b, took)
}
