package book

import (
	"strings"

	"buttonup/journal"
	"buttonup/pack"
	"buttonup/words"
)

// SignedStep takes apart what an approval is of when it is somebody's look at a step, and
// no word of the owner: "second look: operation.carrier_on front".
func SignedStep(what string) (act, reference string, ok bool) {
	act, reference, ok = strings.Cut(what, ": ")
	return act, reference, ok && (act == SecondLook || act == SignedOff || act == ReadBack) && strings.HasPrefix(reference, "operation.")
}

// What a person does to a step besides doing it.
const (
	SecondLook = "second look"
	SignedOff  = "signed off"
	ReadBack   = "read back with cold eyes"
)

// approvalSays names an approval as a builder reads it.
func approvalSays(p *pack.Pack, what string) string {
	if act, reference, ok := SignedStep(what); ok {
		return words.Upper(act) + ": " + words.Named(p, reference)
	}
	return what
}

// OwnersWord are the approvals that are about money or work.
func OwnersWord(list []journal.ApprovalRecord) []journal.ApprovalRecord {
	var own []journal.ApprovalRecord
	for _, x := range list {
		if _, _, ok := SignedStep(x.What); !ok {
			own = append(own, x)
		}
	}
	return own
}
