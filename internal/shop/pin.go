package shop

import (
	"crypto/hmac"
	"crypto/pbkdf2"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
	"time"
)

const (
	// rounds makes one try at a PIN take a noticeable part of a second.
	rounds = 200_000
	// PINs have 4 to 12 digits.
	shortestPIN, longestPIN = 4, 12
	// triesAtPIN is how many wrong tries there are before each next one has to wait.
	triesAtPIN = 5
	waitAtPIN  = time.Minute
)

// SoundPIN says whether a text can be a PIN: 4 to 12 digits.
func SoundPIN(pin string) bool {
	return len(pin) >= shortestPIN && len(pin) <= longestPIN && strings.Trim(pin, "0123456789") == ""
}

// HashPIN returns what is kept of a PIN. Few digits are soon tried through, so the hash
// is bound to a secret of the machine that is kept apart from the record: whoever has
// only a copy of the record cannot try PINs at all.
func HashPIN(pin string, secret []byte, random io.Reader) (string, error) {
	salt := make([]byte, 16)
	if _, err := io.ReadFull(random, salt); err != nil {
		return "", fmt.Errorf("keep a PIN: %w", err)
	}
	sum, err := stretch(pin, salt, secret, rounds)
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("pbkdf2-sha256:%d:%s:%s", rounds, hex.EncodeToString(salt), hex.EncodeToString(sum)), nil
}

// IsPIN says whether a PIN is the one that was kept.
func IsPIN(pin, kept string, secret []byte) bool {
	parts := strings.Split(kept, ":")
	if len(parts) != 4 || parts[0] != "pbkdf2-sha256" || !SoundPIN(pin) {
		return false
	}
	n, err := strconv.Atoi(parts[1])
	salt, err2 := hex.DecodeString(parts[2])
	want, err3 := hex.DecodeString(parts[3])
	if err != nil || err2 != nil || err3 != nil || n < 1 || n > 10*rounds {
		return false
	}
	sum, err := stretch(pin, salt, secret, n)
	return err == nil && subtle.ConstantTimeCompare(sum, want) == 1
}

func stretch(pin string, salt, secret []byte, n int) ([]byte, error) {
	m := hmac.New(sha256.New, secret)
	m.Write([]byte("pin:" + pin))
	return pbkdf2.Key(sha256.New, hex.EncodeToString(m.Sum(nil)), salt, n, sha256.Size)
}

// Tries slows down whoever guesses a PIN.
type Tries struct {
	mu    sync.Mutex
	wrong map[string]int
	last  map[string]time.Time
}

// Begin says how long a try at a person's PIN has to wait. When it need not, the try
// counts as wrong until Right is called, so that many at once are no way round.
func (t *Tries) Begin(person string, now time.Time) time.Duration {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.wrong == nil {
		t.wrong, t.last = map[string]int{}, map[string]time.Time{}
	}
	if n := t.wrong[person]; n >= triesAtPIN {
		if wait := waitAtPIN - now.Sub(t.last[person]); wait > 0 {
			return wait
		}
	}
	t.wrong[person]++
	t.last[person] = now
	return 0
}

// Right forgets the wrong tries.
func (t *Tries) Right(person string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	delete(t.wrong, person)
}
