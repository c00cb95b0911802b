package store

import (
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"buttonup/journal"
)

// fileKey is the key that jobs are signed with, in PKCS 8 and PEM, so that other
// programs read it.
const fileKey = "seal.pem"

const typeKey = "PRIVATE KEY"

// SigningKey returns the key that the shop signs with, and makes it when there is
// none. It lies in the folder keys/, readable by its owner alone.
//
// Source: Ed25519 is RFC 8032, PKCS 8 for it RFC 8410; by the standard library.
func (s *Store) SigningKey() (ed25519.PrivateKey, error) {
	const operation = "read the signing key"
	if err := s.enter(operation, false); err != nil {
		return nil, err
	}
	defer s.calls.Done()
	key, err := s.signingKey()
	return key, explain(operation, err)
}

func (s *Store) signingKey() (ed25519.PrivateKey, error) {
	path := filepath.Join(s.dir, dirKeys, fileKey)
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		if s.lock == nil {
			return nil, refuse(ErrNotFound, "start the server once, or make a job: that makes a key", "this record has no key yet")
		}
		return s.makeKey(path)
	}
	if err != nil {
		return nil, err
	}
	return parseKey(text)
}

// makeKey writes a new key, whole or not at all.
func (s *Store) makeKey(path string) (ed25519.PrivateKey, error) {
	_, key, err := ed25519.GenerateKey(s.options.Random)
	if err != nil {
		return nil, err
	}
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, err
	}
	dir := filepath.Dir(path)
	if err := makeFolder(dir); err != nil {
		return nil, err
	}
	f, err := os.CreateTemp(dir, "new-*") // readable by its owner alone
	if err != nil {
		return nil, err
	}
	err = pem.Encode(f, &pem.Block{Type: typeKey, Bytes: der})
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return nil, errors.Join(err, removeIfThere(f.Name()))
	}
	return key, errors.Join(syncDir(dir), syncDir(s.dir))
}

func parseKey(text []byte) (ed25519.PrivateKey, error) {
	block, _ := pem.Decode(text)
	if block == nil || block.Type != typeKey {
		return nil, refuse(ErrDamaged, "put the key back from a backup that was made with --keys", "the file keys/%s is no key", fileKey)
	}
	any, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, refuse(ErrDamaged, "put the key back from a backup that was made with --keys", "the key in keys/%s cannot be read: %v", fileKey, err)
	}
	key, ok := any.(ed25519.PrivateKey)
	if !ok {
		return nil, refuse(ErrDamaged, "put the key back from a backup that was made with --keys", "the key in keys/%s is of another kind", fileKey)
	}
	return key, nil
}

// PublicPEM writes a public key as other programs read it.
func PublicPEM(key ed25519.PublicKey) []byte {
	der, err := x509.MarshalPKIXPublicKey(key)
	if err != nil {
		panic(err) // it cannot fail for this kind of key
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
}

// PrivatePEM writes a private key as other programs read it.
func PrivatePEM(key ed25519.PrivateKey) []byte {
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		panic(err) // it cannot fail for this kind of key
	}
	return pem.EncodeToMemory(&pem.Block{Type: typeKey, Bytes: der})
}

// all returns the texts in the order in which a job keeps them.
func (t Texts) all() [][]byte {
	var list [][]byte
	for _, f := range t.Pack {
		list = append(list, f.Text)
	}
	for _, x := range t.Templates {
		for _, f := range x.Files {
			list = append(list, f.Text)
		}
	}
	return list
}

// Sum is the hash of the texts that a seal signs; see [journal.PackSum].
func (t Texts) Sum() string { return journal.PackSum(t.all()) }

// CloseJob signs everything that a job's journal holds and adds the signature as an
// event, which it returns. Closing again later signs what came since too; the first
// signature stays valid. The error is of kind ErrArgument for a job without events,
// and ErrDamaged when its chain does not hold: what is broken is not signed.
func (s *Store) CloseJob(ctx context.Context, job, by string) (journal.Event, error) {
	operation := "close job " + job
	fail := func(err error) (journal.Event, error) { return journal.Event{}, explain(operation, err) }
	if err := s.enter(operation, true); err != nil {
		return journal.Event{}, err
	}
	defer s.calls.Done()
	key, err := s.signingKey()
	if err != nil {
		return fail(err)
	}
	texts, err := s.texts(ctx, job)
	if err != nil {
		return fail(err)
	}
	events, err := s.read(ctx, job, 0)
	if err != nil {
		return fail(err)
	}
	if len(events) == 0 {
		return fail(refuse(ErrArgument, "take readings first", "the job has no event, so there is nothing to sign"))
	}
	if damage := checkChain(job, events); damage != nil {
		return fail(refuse(ErrDamaged, "compare with the last backup: buttonup verify tells more", "%s", damage.Says))
	}
	last := events[len(events)-1]
	if e, err := journal.Decode(last.Bytes); err == nil {
		if seal, ok := e.Body.(journal.Seal); ok && seal.Events == len(events)-1 {
			return e, nil // closed already, and nothing came since
		}
	}
	at := s.options.Now().UTC().Truncate(1e9)
	seal := journal.SignSeal(journal.Seal{Events: len(events), Head: fmt.Sprintf("%x", last.Hash), PackSum: texts.Sum()}, at, key)
	e := journal.New(s.NewID(), at, by, seal)
	line, err := e.Encode()
	if err != nil {
		return fail(err)
	}
	results, err := s.append(ctx, job, []incoming{{id: e.ID, bytes: line}})
	if err != nil {
		return fail(err)
	}
	if results[0].Outcome != Kept {
		return fail(refuse(ErrDisk, "", "the signature was not kept: %s", strings.ToLower(fmt.Sprint(results[0].Outcome))))
	}
	e.Bytes = line
	return e, nil
}
