package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/iotest"
)

func mustPut(t testing.TB, s *Store, photo []byte) string {
	t.Helper()
	sha, size, err := s.PutPhoto(ctx, bytes.NewReader(photo))
	if err != nil {
		t.Fatal(err)
	}
	if sum := sha256.Sum256(photo); sha != hex.EncodeToString(sum[:]) || size != int64(len(photo)) {
		t.Fatalf("the photo is kept as %s with %d bytes", sha, size)
	}
	return sha
}

func TestPhotos(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	photo := killPhoto(3)
	sha := mustPut(t, s, photo)
	if again := mustPut(t, s, photo); again != sha {
		t.Errorf("the same photo is %s and %s", sha, again)
	}
	f, err := s.Photo(sha)
	if err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(f)
	if err != nil || !bytes.Equal(got, photo) {
		t.Errorf("%d bytes come back, %v", len(got), err)
	}
	if at, err := f.Seek(-10, io.SeekEnd); err != nil || at != int64(len(photo))-10 {
		t.Errorf("seek: %d, %v", at, err)
	}
	_ = f.Close()
	if got := names(t, filepath.Join(dir, dirPhotos)); len(got) != 1 || got[0] != sha[:2]+"/" {
		t.Errorf("the folder of photos has %v", got)
	}
	_, err = s.Photo(strings.Repeat("0", 64))
	mustRefuse(t, err, ErrNotFound, "open photo 0000", ": it is not in the folder")
	for _, name := range []string{"", "..", "../buttonup.db", strings.ToUpper(sha), sha + "0", "ab/" + sha[3:]} {
		_, err = s.Photo(name)
		mustRefuse(t, err, ErrNotFound, "a photo is named by 64 hexadecimal digits in lower case")
	}
}

func TestPhotosThatAreRefused(t *testing.T) {
	dir := folder(t)
	s, err := Open(dir, Options{MaxPhoto: 1000})
	if err != nil {
		t.Fatal(err)
	}
	defer mustClose(t, s)
	mustPut(t, s, bytes.Repeat([]byte("x"), 1000))
	_, _, err = s.PutPhoto(ctx, bytes.NewReader(bytes.Repeat([]byte("y"), 1001)))
	mustRefuse(t, err, ErrTooLarge, "keep a photo: the photo has more than 1000 bytes; make it smaller")
	_, _, err = s.PutPhoto(ctx, strings.NewReader(""))
	mustRefuse(t, err, ErrArgument, "keep a photo: the photo is empty; send it again")
	broken := errors.New("the phone went away")
	_, _, err = s.PutPhoto(ctx, io.MultiReader(strings.NewReader("half"), iotest.ErrReader(broken)))
	if !errors.Is(err, broken) || !strings.HasPrefix(err.Error(), "keep a photo: ") {
		t.Errorf("the error is %v", err)
	}
	gone, cancel := context.WithCancel(ctx)
	cancel()
	if _, _, err = s.PutPhoto(gone, strings.NewReader("photo")); !errors.Is(err, context.Canceled) {
		t.Errorf("the error is %v", err)
	}
	if got := names(t, filepath.Join(dir, dirPhotos)); len(got) != 1 {
		t.Errorf("photos that were refused left %v", got)
	}
}

// What was on its way in when the program was killed is cleared away, and nothing else.
func TestPhotosLeftOver(t *testing.T) {
	dir := folder(t)
	s := mustOpen(t, dir)
	sha := mustPut(t, s, killPhoto(1))
	mustClose(t, s)
	photos := filepath.Join(dir, dirPhotos)
	for _, name := range []string{prefixIncoming + "123", "note.txt"} {
		if err := os.WriteFile(filepath.Join(photos, name), []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s = mustOpen(t, dir)
	if got := names(t, photos); len(got) != 2 || got[0] == prefixIncoming+"123" || got[1] == prefixIncoming+"123" {
		t.Errorf("the folder has %v", got)
	}
	if r := mustBeSound(t, s); r.Photos != 1 {
		t.Errorf("%d photos", r.Photos)
	}
	if _, err := s.Photo(sha); err != nil {
		t.Error(err)
	}
}

func TestPhotosFromManySidesAtOnce(t *testing.T) {
	s := mustOpen(t, folder(t))
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for i := range 10 {
				if _, _, err := s.PutPhoto(ctx, bytes.NewReader(killPhoto(i))); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	if r := mustBeSound(t, s); r.Photos != 10 {
		t.Errorf("%d photos, want 10", r.Photos)
	}
}
