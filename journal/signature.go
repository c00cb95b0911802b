package journal

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"
)

// SealMessage is the text that a seal signs, five lines:
//
//	buttonup seal 1
//	events 1667
//	chain 64 hexadecimal digits
//	pack 64 hexadecimal digits
//	closed 2026-05-15T09:00:00Z
//
// each ended by a line feed. at is the time of the seal's event, printed in UTC to the
// second.
func SealMessage(s Seal, at time.Time) []byte {
	return fmt.Appendf(nil, "buttonup seal 1\nevents %d\nchain %s\npack %s\nclosed %s\n", s.Events, s.Head, s.PackSum, at.UTC().Format(time.RFC3339))
}

// PackSum is the hash over the texts that a job is judged by: SHA-256 of the SHA-256
// of each file, 32 bytes each, in the order in which the job keeps them.
func PackSum(texts [][]byte) string {
	h := sha256.New()
	for _, t := range texts {
		sum := sha256.Sum256(t)
		h.Write(sum[:])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// SignSeal fills in the key and the signature of a seal.
//
// Source: Ed25519 is RFC 8032, by the standard library.
func SignSeal(s Seal, at time.Time, key ed25519.PrivateKey) Seal {
	s.Key = hex.EncodeToString(key.Public().(ed25519.PublicKey))
	s.Signature = hex.EncodeToString(ed25519.Sign(key, SealMessage(s, at)))
	return s
}

// CheckSeal says what is wrong with a seal, "" for nothing. heads are the hashes of
// the chain, heads[n] that after n events; packSum is that of the pack at hand, empty
// when there is none to compare with. place is how many events stand before the seal.
func CheckSeal(s Seal, at time.Time, place int, heads [][32]byte, packSum string) string {
	key, err := hex.DecodeString(s.Key)
	if err != nil || len(key) != ed25519.PublicKeySize {
		return "its key is not one"
	}
	signature, err := hex.DecodeString(s.Signature)
	if err != nil || !ed25519.Verify(key, SealMessage(s, at), signature) {
		return "the signature does not fit what it says"
	}
	switch {
	case s.Events > place || s.Events >= len(heads):
		return fmt.Sprintf("it signs %d events and only %d stand before it", s.Events, place)
	case hex.EncodeToString(heads[s.Events][:]) != s.Head:
		return fmt.Sprintf("one of the first %d events was changed, taken out or put in since it was signed", s.Events)
	case packSum != "" && packSum != s.PackSum:
		return "the pack text is not the one that was signed"
	}
	return ""
}

// Heads returns the hashes of a chain over received lines: the first is that of no
// event, all zero, and the last that of all.
func Heads(events []Event) [][32]byte {
	heads := make([][32]byte, 1, len(events)+1)
	for i := range events {
		content, err := events[i].content()
		if err != nil {
			content = nil
		}
		heads = append(heads, Chain(heads[i], content))
	}
	return heads
}
