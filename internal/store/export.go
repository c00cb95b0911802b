package store

import (
	"context"
	"fmt"

	"buttonup/journal"
)

// Export returns the journal of a job as text, each line with its seq and hash, as
// [journal.Export] writes it. The files that the job was started on are in Texts.
//
// When the chain in the database does not hold, the error is of kind ErrDamaged and
// the lines come back all the same, without seq and hash, because a new chain would
// hide the damage.
func (s *Store) Export(ctx context.Context, job string) ([]byte, error) {
	operation := "export job " + job
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	stored, err := s.read(ctx, job, 0)
	if err != nil {
		return nil, explain(operation, err)
	}
	if damage := checkChain(job, stored); damage != nil {
		return plain(stored), explain(operation, refuse(ErrDamaged,
			"compare with the last backup; the lines are written without seq and hash", "%s", damage.Says))
	}
	events := make([]journal.Event, len(stored))
	for i := range stored {
		events[i].Bytes = stored[i].Bytes
	}
	return journal.Export(events), nil
}

// checkChain returns the first place where a journal's numbers or hashes do not fit,
// nil for none.
func checkChain(job string, events []StoredEvent) *Damage {
	var prev [32]byte
	for i, e := range events {
		if e.Seq != int64(i)+1 {
			return &Damage{Job: job, Seq: e.Seq, Says: fmt.Sprintf("event %d of job %s stands where event %d should: one is missing or out of place", e.Seq, job, i+1)}
		}
		prev = journal.Chain(prev, e.Bytes)
		if prev != e.Hash {
			return &Damage{Job: job, Seq: e.Seq, Says: fmt.Sprintf("the hash of event %d of job %s does not fit: the event was changed, or one before it was", e.Seq, job)}
		}
	}
	return nil
}

// Imported is what Import did.
type Imported struct {
	// Lines are the results, one for each line of the file that is not empty, in the
	// order of the file.
	Lines []Appended
	// Kept, Already, Different and Refused count them.
	Kept, Already, Different, Refused int
	// Problems are what was found wrong with the file as a text, its chain included.
	Problems []journal.Problem
	// Chained is true when the file had a chain and all of it held.
	Chained bool
}

// Import adds the text of a journal, exported or not, to the journal of a job that
// is there. It overwrites nothing and can be done again: what is there already counts
// once, and the same id with other content is set aside, as Append does. All of it
// is one transaction. A file whose chain does not hold is imported as it is and
// reported.
func (s *Store) Import(ctx context.Context, job string, text []byte) (Imported, error) {
	operation := "import into job " + job
	if err := s.enter(operation, true); err != nil {
		return Imported{}, err
	}
	defer s.calls.Done()
	j := journal.Read(text)
	done := Imported{Problems: j.Problems, Chained: j.Chained}
	lines, err := linesOf(j)
	if err == nil {
		done.Lines, err = s.append(ctx, job, lines)
	}
	if err != nil {
		return Imported{}, explain(operation, err)
	}
	for _, r := range done.Lines {
		switch r.Outcome {
		case Kept:
			done.Kept++
		case Already:
			done.Already++
		case Different:
			done.Different++
		default:
			done.Refused++
		}
	}
	return done, nil
}

// linesOf returns all lines of a journal that was read, in the order of the file. It
// refuses a file of which not all was read, because what is left out would be lost.
func linesOf(j *journal.Journal) ([]incoming, error) {
	problems := map[int]*journal.Problem{}
	for i, p := range j.Problems {
		switch p.Code {
		case journal.CodeTooLarge, journal.CodeMoreLines:
			return nil, refuse(ErrTooLarge, "import it in parts", "%v", p)
		case journal.CodeBrokenLine, journal.CodeLineTooLong, journal.CodeUnknownKind:
			problems[p.Line] = &j.Problems[i]
		}
	}
	var lines []incoming
	events, asides := j.Events, j.Aside
	for len(events)+len(asides) > 0 {
		if len(asides) == 0 || len(events) > 0 && events[0].Line < asides[0].Line {
			lines = append(lines, incoming{id: events[0].ID, bytes: events[0].Bytes})
			events = events[1:]
			continue
		}
		e := asides[0]
		asides = asides[1:]
		problem := problems[e.Line]
		if problem == nil {
			problem = &journal.Problem{Code: journal.CodeBrokenLine, Line: e.Line, Attention: true, Detail: "the line cannot be used"}
		}
		lines = append(lines, incoming{id: problem.Event, bytes: e.Bytes, refused: e.Kind == "", problem: problem})
	}
	return lines, nil
}
