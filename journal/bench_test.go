package journal_test

import (
	"fmt"
	"strings"
	"testing"

	"buttonup/journal"
)

// bigJournal is the text of a journal as a long job gives it: mostly readings and
// torque presses, one in fifty struck.
func bigJournal(events int) []byte {
	var b strings.Builder
	for i := range events {
		id := fmt.Sprintf("01JNA00000000000%010d", i)
		switch {
		case i%50 == 49:
			b.WriteString(line(id, "strike", fmt.Sprintf(`"event":"01JNA00000000000%010d","why":"dial slipped"`, i-1)))
		case i%5 == 0:
			b.WriteString(line(id, "torque", fmt.Sprintf(`"joint":"head_nuts","place":"front","point":%d,"stage":2,"value":"25 N·m","wrench":"tw-1"`, 1+i%8)))
		case i%7 == 0:
			b.WriteString(line(id, "operation", fmt.Sprintf(`"operation":"op_%d","place":"front","state":"done"`, i%90)))
		default:
			b.WriteString(line(id, "reading", fmt.Sprintf(`"of":"bore","place":"front","cell":{"position":"%d mm","axis":"thrust","n":%d},"value":"92.%03d mm","instrument":"bg-1","temperature":"20.5 degC"`, 10*(i%9), 1+i%3, i%100)))
		}
		b.WriteByte('\n')
	}
	return []byte(b.String())
}

const benchEvents = 10_000

func reportPerEvent(b *testing.B) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/benchEvents, "ns/event")
}

func BenchmarkRead(b *testing.B) {
	text := bigJournal(benchEvents)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if j := journal.Read(text); len(j.Events) != benchEvents {
			b.Fatalf("%d events", len(j.Events))
		}
	}
	reportPerEvent(b)
}

func BenchmarkReadChained(b *testing.B) {
	text := journal.Export(journal.Read(bigJournal(benchEvents)).Events)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if j := journal.Read(text); !j.Chained {
			b.Fatal("not chained")
		}
	}
	reportPerEvent(b)
}

func BenchmarkFold(b *testing.B) {
	j := journal.Read(bigJournal(benchEvents))
	b.ReportAllocs()
	for b.Loop() {
		if s := j.Fold(); s.Events != benchEvents || len(s.Struck) != benchEvents/50 {
			b.Fatalf("%d events, %d struck", s.Events, len(s.Struck))
		}
	}
	reportPerEvent(b)
}

func BenchmarkExport(b *testing.B) {
	j := journal.Read(bigJournal(benchEvents))
	b.ReportAllocs()
	for b.Loop() {
		journal.Export(j.Events)
	}
	reportPerEvent(b)
}

func BenchmarkEncode(b *testing.B) {
	e := journal.Read(bigJournal(benchEvents)).Events[1]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.Encode(); err != nil {
			b.Fatal(err)
		}
	}
}
