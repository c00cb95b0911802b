package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/packs"
)

// largestInput bounds what is read of any one file: journals are the largest.
const largestInput = 64 << 20

// readInput reads a file, or standard input for "-".
func (a *app) readInput(name string) ([]byte, error) {
	if name == "-" {
		b, err := io.ReadAll(io.LimitReader(a.stdin, largestInput+1))
		if err == nil && len(b) > largestInput {
			err = tooLarge("standard input")
		}
		return b, err
	}
	return readFile(name)
}

func tooLarge(name string) error {
	return failed("split it", "%s is larger than %d MB", name, largestInput>>20)
}

func readFile(name string) ([]byte, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	if info.IsDir() {
		return nil, failed("name a file in it", "%s is a folder", name)
	}
	if info.Size() > largestInput {
		return nil, tooLarge(name)
	}
	b, err := os.ReadFile(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	return b, nil
}

// fileError says why a file cannot be used, without the system's jargon.
func fileError(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return failed("check the name and the folder", "there is no file %s", name)
	case errors.Is(err, fs.ErrPermission):
		return failed("check who may read and write it", "%s may not be opened", name)
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return failed("", "%s: %v", name, err)
}

// packFiles reads the files of a pack: a file, a folder, or the ID of a pack that
// the program carries.
func packFiles(path string) ([]pack.File, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		if files, ok := packs.Find(path); ok {
			return carried(files), nil
		}
		return nil, failed("name a pack file, a folder of them, or one that the program carries: "+strings.Join(packs.IDs(), ", "), "there is no pack %s", path)
	}
	if err != nil {
		return nil, fileError(path, err)
	}
	if !info.IsDir() {
		f, err := packFile(path, filepath.Base(path))
		if err != nil {
			return nil, err
		}
		return []pack.File{f}, nil
	}
	names, err := filepath.Glob(filepath.Join(path, "*.pack"))
	if err != nil {
		return nil, fileError(path, err)
	}
	if len(names) == 0 {
		return nil, failed("a pack's files end in .pack", "the folder %s holds no pack", path)
	}
	slices.Sort(names)
	var files []pack.File
	for _, n := range names {
		f, err := packFile(n, filepath.Base(n))
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}

// packFile reads one file, but no more of it than tells that it is too large.
func packFile(path, name string) (pack.File, error) {
	f, err := os.Open(path)
	if err != nil {
		return pack.File{}, fileError(path, err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, syntax.LargestFile+1))
	if err != nil {
		return pack.File{}, fileError(path, err)
	}
	return pack.File{Name: name, Text: text}, nil
}

func carried(files []packs.File) []pack.File {
	var list []pack.File
	for _, f := range files {
		list = append(list, pack.File{Name: f.Name, Text: f.Text})
	}
	return list
}

// finder looks templates up beside a pack, then among the packs that the program
// carries.
func finder(path string) pack.Finder {
	folder := path
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		folder = filepath.Dir(path)
	} else if err == nil {
		folder = filepath.Dir(filepath.Clean(path))
	}
	return func(id string) ([]pack.File, bool) {
		if files, ok := beside(folder, path, id); ok {
			return files, true
		}
		files, ok := packs.Find(id)
		return carried(files), ok
	}
}

// beside finds a pack by its ID among the files and folders beside another.
func beside(folder, self, id string) ([]pack.File, bool) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, false
	}
	for _, e := range entries {
		path := filepath.Join(folder, e.Name())
		if filepath.Clean(path) == filepath.Clean(self) || !e.IsDir() && filepath.Ext(path) != ".pack" {
			continue
		}
		files, err := packFiles(path)
		if err == nil && holdsPack(files, id) {
			return files, true
		}
	}
	return nil, false
}

// holdsPack reports whether one of the files declares the pack with the ID.
func holdsPack(files []pack.File, id string) bool {
	for _, f := range files {
		for _, line := range bytes.Split(f.Text, []byte("\n")) {
			fields := bytes.Fields(line)
			if len(fields) > 1 && string(fields[0]) == "pack" && bytes.Contains(line, []byte(`"`+id+`"`)) {
				return true
			}
		}
	}
	return false
}

// loadPack reads and checks a pack. Mistakes are returned as a failure with code 4.
func (a *app) loadPack(path string) (*pack.Pack, error) {
	files, err := packFiles(path)
	if err != nil {
		return nil, err
	}
	defer a.watch("reading the pack")()
	p, mistakes := pack.Load(files, finder(path))
	if len(mistakes) > 0 {
		return nil, &failure{Says: fmt.Sprintf("the pack has %s", count(len(mistakes), "mistake")), Hint: "mend them and check again with: buttonup pack check " + path, Mistakes: mistakes, Code: ExitMistakes}
	}
	return p, nil
}

func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// writeWhole writes a file so that it is there whole or not at all.
func writeWhole(name string, text []byte) error {
	f, err := os.CreateTemp(filepath.Dir(name), ".buttonup-*")
	if err != nil {
		return fileError(name, err)
	}
	defer os.Remove(f.Name())
	if _, err = f.Write(text); err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(f.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return fileError(name, err)
	}
	return nil
}
