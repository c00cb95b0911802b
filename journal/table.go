package journal

// bodies is the one table that joins kinds and body types, in the order of
// docs/journal-format.md. A new kind is one line here and one visit method.
var bodies = []bodyType{
	{KindJob, is[Job], read[Job], write[Job]},
	{KindInstrument, is[Instrument], read[Instrument], write[Instrument]},
	{KindOption, is[Option], read[Option], write[Option]},
	{KindExtra, is[Extra], read[Extra], write[Extra]},
	{KindReading, is[Reading], read[Reading], write[Reading]},
	{KindCheck, is[Check], read[Check], write[Check]},
	{KindStrike, is[Strike], read[Strike], write[Strike]},
	{KindPart, is[Part], read[Part], write[Part]},
	{KindOperation, is[Operation], read[Operation], write[Operation]},
	{KindTorque, is[Torque], read[Torque], write[Torque]},
	{KindWait, is[Wait], read[Wait], write[Wait]},
	{KindDeviation, is[Deviation], read[Deviation], write[Deviation]},
	{KindApproval, is[Approval], read[Approval], write[Approval]},
	{KindNote, is[Note], read[Note], write[Note]},
	{KindPhoto, is[Photo], read[Photo], write[Photo]},
	{KindLink, is[Link], read[Link], write[Link]},
	{KindTime, is[TimeWorked], read[TimeWorked], write[TimeWorked]},
	{KindCost, is[Cost], read[Cost], write[Cost]},
	{KindAddition, is[Addition], read[Addition], write[Addition]},
	{KindSeal, is[Seal], read[Seal], write[Seal]},
	{KindEstimate, is[Estimate], read[Estimate], write[Estimate]},
	{KindMark, is[Mark], read[Mark], write[Mark]},
	{KindPublished, is[Published], read[Published], write[Published]},
}

// bodyType is what the program can do with the body of one kind.
type bodyType struct {
	kind  Kind
	is    func(body any) bool
	read  func(c *coder) any
	write func(c *coder, body any)
}

// visitor is a pointer to a body that can name its fields to a coder.
type visitor[T any] interface {
	*T
	visit(c *coder)
}

func is[T any](body any) bool {
	_, ok := body.(T)
	return ok
}

func read[T any, P visitor[T]](c *coder) any {
	var b T
	P(&b).visit(c)
	return b
}

func write[T any, P visitor[T]](c *coder, body any) {
	b := body.(T)
	P(&b).visit(c)
}

// typeOfKind returns the row of a kind, nil for a kind that is not known.
func typeOfKind(kind Kind) *bodyType {
	for i := range bodies {
		if bodies[i].kind == kind {
			return &bodies[i]
		}
	}
	return nil
}

// typeOfBody returns the row of a body, nil for a type that is none.
func typeOfBody(body any) *bodyType {
	for i := range bodies {
		if bodies[i].is(body) {
			return &bodies[i]
		}
	}
	return nil
}
