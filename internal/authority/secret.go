package authority

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

const (
	fileSecret = "secret"
	secretSize = 32
)

// Secret reads the secret of the machine in a folder, or makes it there: what binds the
// tokens of forms and the PINs of people to this machine, and no backup holds unless
// keys are asked for.
func Secret(dir string, random io.Reader) ([]byte, error) {
	path := filepath.Join(dir, fileSecret)
	secret, err := os.ReadFile(path)
	if err == nil {
		if len(secret) != secretSize {
			return nil, fmt.Errorf("%s has %d bytes and should have %d: put it back from a backup, or move it away and set the PINs again", path, len(secret), secretSize)
		}
		return secret, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of the keys: %w", err)
	}
	secret = make([]byte, secretSize)
	if _, err := io.ReadFull(random, secret); err != nil {
		return nil, err
	}
	f, err := os.CreateTemp(dir, ".new-*") // 0600
	if err != nil {
		return nil, err
	}
	_, err = f.Write(secret)
	err = errors.Join(err, f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return nil, errors.Join(err, os.Remove(f.Name()))
	}
	return secret, nil
}
