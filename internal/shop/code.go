package shop

import (
	"crypto/sha256"
	"crypto/subtle"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// alphabet leaves out I, L, O and U, so that a code read from a screen is typed right.
const alphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

const (
	// codeLength is 8 characters of 5 bits: 40 bits against CodeTries tries.
	codeLength = 8
	// CodeLife is how long a code may be used.
	CodeLife = 5 * time.Minute
	// CodeTries is how many wrong tries a code stands before it is void.
	CodeTries = 10
	// triesFromOne is how many tries one address has within triesWithin.
	triesFromOne = 5
	triesWithin  = time.Minute
	// mostAddresses bounds what is remembered of who tried.
	mostAddresses = 1000
)

// Codes hands out one code at a time for pairing a device. A code is used once.
type Codes struct {
	mu    sync.Mutex
	hash  [sha256.Size]byte
	until time.Time
	left  int
	tried map[string][]time.Time
}

// New makes a code; the one before it is void. The code is written in two groups.
func (c *Codes) New(random io.Reader, now time.Time) (string, error) {
	raw := make([]byte, codeLength)
	if _, err := io.ReadFull(random, raw); err != nil {
		return "", fmt.Errorf("make a code: %w", err)
	}
	for i, b := range raw {
		raw[i] = alphabet[b&31]
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.hash, c.until, c.left = sha256.Sum256(raw), now.Add(CodeLife), CodeTries
	return string(raw[:4]) + "-" + string(raw[4:]), nil
}

// Left says how long the code may still be used; zero when there is none.
func (c *Codes) Left(now time.Time) time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.left == 0 {
		return 0
	}
	return max(0, c.until.Sub(now))
}

// Use says whether a code is the right one, and makes it void when it is. From names
// where the try comes from; after too many from there, wait is how long to wait, and
// the code was not looked at.
func (c *Codes) Use(code, from string, now time.Time) (ok bool, wait time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if wait = c.hold(from, now); wait > 0 {
		return false, wait
	}
	sum := sha256.Sum256([]byte(plainCode(code)))
	same := subtle.ConstantTimeCompare(sum[:], c.hash[:]) == 1
	if c.left == 0 || !now.Before(c.until) {
		return false, 0
	}
	if !same {
		c.left--
		return false, 0
	}
	c.left = 0
	delete(c.tried, from)
	return true, 0
}

// hold notes a try and says how long the next one must wait.
func (c *Codes) hold(from string, now time.Time) time.Duration {
	if c.tried == nil || len(c.tried) > mostAddresses {
		c.tried = map[string][]time.Time{}
	}
	recent := c.tried[from][:0]
	for _, t := range c.tried[from] {
		if now.Sub(t) < triesWithin {
			recent = append(recent, t)
		}
	}
	if len(recent) >= triesFromOne {
		c.tried[from] = recent
		return triesWithin - now.Sub(recent[0])
	}
	c.tried[from] = append(recent, now)
	return 0
}

// plainCode reads a code as a person types it: in small letters, with or without the
// dash, an O for a zero.
func plainCode(code string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == 'O':
			return '0'
		case r == 'I' || r == 'L':
			return '1'
		case strings.ContainsRune(alphabet, r):
			return r
		}
		return -1
	}, strings.ToUpper(code))
}
