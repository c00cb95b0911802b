package cli

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"

	"buttonup/formula"
	"buttonup/pack"
	"buttonup/pack/syntax"
	"buttonup/packs"
)

// largestInput bounds what is read of any one file: journals are the largest.
const largestInput = 64 << 20

// readInput reads a file, or standard input for "-".
func (a *app) readInput(name string) ([]byte, error) {
	if name == "-" {
		if f, ok := a.stdin.(*os.File); ok && isTerminal(f) {
			a.say("reading standard input; end it with Ctrl-D (Ctrl-Z and Enter on Windows)")
		}
		return readAll(name, a.stdin)
	}
	return readFile(name)
}

func readFile(name string) ([]byte, error) {
	name = atHome(name)
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError(name, err)
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		return nil, failed("name a file in it", "%s is a folder", shownName(name))
	}
	return readAll(name, f)
}

// readAll reads no more than tells that there is too much: a device may never end.
func readAll(name string, r io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, largestInput+1))
	if err != nil {
		return nil, fileError(name, err)
	}
	if len(b) > largestInput {
		return nil, failed("split it, or find out what wrote so much", "%s is larger than %d MB", shownName(name), largestInput>>20)
	}
	return b, nil
}

// atHome puts the home folder where ~ stands at the start of a name. Shells do that
// too, but not after "=", and some not at all.
func atHome(name string) string {
	rest, ok := strings.CutPrefix(name, "~")
	if !ok || rest != "" && rest[0] != '/' && rest[0] != '\\' || exists(name) {
		return name
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return name
	}
	return home + rest
}

// fileError says why a file cannot be read, without the system's jargon.
func fileError(name string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return failed(nearFile(name)+"check the name and the folder", "there is no file %s", shownName(name))
	case errors.Is(err, fs.ErrPermission):
		return failed("check who may read it", "%s may not be read", shownName(name))
	}
	return failed("", "%s cannot be read: %v", shownName(name), plainError(err))
}

// nearFile offers a file of a similar name in the same folder.
func nearFile(name string) string {
	entries, err := os.ReadDir(filepath.Dir(name))
	if err != nil || len(entries) > 10_000 {
		return ""
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			names = append(names, e.Name())
		}
	}
	if near := formula.Nearest(filepath.Base(name), names); near != "" {
		return "perhaps " + shownName(filepath.Join(filepath.Dir(name), near)) + " is meant; "
	}
	return ""
}

// writeError says why a file cannot be written.
func writeError(name string, err error) error {
	folder := filepath.Dir(name)
	switch {
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return failed("make the folder first, or name another", "there is no folder %s to write %s in", folder, filepath.Base(name))
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return failed("name a folder where you may write, or change who may", "%s may not be written", shownName(name))
	case errors.Is(err, syscall.ENOSPC):
		return failed("make room; nothing was changed", "the disk is full, so %s was not written", shownName(name))
	}
	return failed("nothing was changed", "%s cannot be written: %v", shownName(name), plainError(err))
}

// plainError is what the system says, without the name of the call.
func plainError(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	var le *os.LinkError
	if errors.As(err, &le) {
		return le.Err
	}
	return err
}

// packFiles reads the files of a pack: a file, a folder, or the ID of a pack that
// the program carries.
func packFiles(path string) ([]pack.File, error) {
	path = atHome(path)
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		if files, ok := packs.Find(path); ok {
			return carried(files), nil
		}
		return nil, noPack(path)
	}
	if err != nil {
		return nil, fileError(path, err)
	}
	if !info.IsDir() {
		f, err := packFile(path, filepath.Base(path))
		if err != nil {
			return nil, err
		}
		is := natureOf(f.Text)
		if is == unknown && isTabular(f.Text) {
			is = aTable
		}
		if is != aPack && is != unknown {
			return nil, notPack(shownName(path), is)
		}
		return []pack.File{f}, nil
	}
	names, err := filepath.Glob(filepath.Join(globQuote(path), "*.pack"))
	if err != nil {
		return nil, fileError(path, err)
	}
	if len(names) == 0 {
		return nil, failed("a pack's files end in .pack; name one of them, or the folder that holds them", "the folder %s holds no pack", shownName(path))
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

// globQuote keeps brackets and stars in the name of a folder from being a pattern.
func globQuote(path string) string {
	if os.PathSeparator == '\\' {
		return path // Windows has no such quoting, and forbids most such names
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(path)
}

// noPack says that a pack is not there and offers one that is.
func noPack(path string) error {
	ids := packs.IDs()
	hint := fmt.Sprintf("name a pack file, a folder of them, or one of the %d that the program carries, like %s", len(ids), packs.Demo)
	word := strings.TrimSuffix(filepath.Base(path), ".pack")
	near := formula.Nearest(word, ids)
	for _, id := range ids {
		if near == "" && strings.HasPrefix(id, strings.ToLower(word)) {
			near = id
		}
	}
	if near != "" {
		hint = "perhaps " + near + " is meant, which the program carries; else check the name and the folder"
	}
	return failed(hint, "there is no pack %s", shownName(path))
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
	path = atHome(path)
	if whole, err := filepath.Abs(path); err == nil {
		path = whole // so that "." has a folder beside it too
	}
	folder := filepath.Dir(path)
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
		if err != nil {
			continue
		}
		// A folder is one pack, or it holds several, each a file of its own.
		packsIn := 0
		var own []pack.File
		for _, f := range files {
			declared := packIDs(f.Text)
			packsIn += len(declared)
			if slices.Contains(declared, id) {
				own = append(own, f)
			}
		}
		switch {
		case len(own) > 0 && packsIn == 1:
			return files, true
		case len(own) > 0:
			return own, true
		}
	}
	return nil, false
}

// packIDs lists the IDs of the packs that a text declares.
func packIDs(text []byte) []string {
	var ids []string
	for _, m := range packHead.FindAllSubmatch(text, -1) {
		ids = append(ids, string(m[1]))
	}
	return ids
}

var packHead = regexp.MustCompile(`(?m)^pack\s+"([^"\n]*)"`)

// readPack reads and checks a pack.
func (a *app) readPack(path string) (*pack.Pack, pack.Mistakes, error) {
	files, err := packFiles(path)
	if err != nil {
		return nil, nil, err
	}
	defer a.watch("reading the pack")()
	p, mistakes := pack.Load(files, finder(path))
	for i := range mistakes {
		if m := &mistakes[i]; m.Span.File == "" {
			m.Span.File = files[0].Name // a mistake of the whole, like a missing head
		}
	}
	return p, mistakes, nil
}

// loadPack reads and checks a pack. Mistakes are returned as a failure with code 4.
func (a *app) loadPack(path string) (*pack.Pack, error) {
	p, mistakes, err := a.readPack(path)
	if err != nil {
		return nil, err
	}
	if len(mistakes) > 0 {
		return nil, &failure{Says: fmt.Sprintf("the pack %s has %s", shownName(path), count(len(mistakes), "mistake")), Argument: "--pack",
			Hint: "mend what is named above and check it again with: buttonup pack check " + shellWord(path), Mistakes: mistakes, Code: ExitMistakes}
	}
	return p, nil
}

func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// writeWhole writes a file so that it is there whole or not at all. What stands
// beside it, and a file of that name that is not to be replaced, stay as they are; a
// replaced one keeps its permissions.
func (a *app) writeWhole(name string, text []byte, replace bool) error {
	name = atHome(name)
	return a.change(shownName(name), func() error {
		mode := fs.FileMode(0o644)
		if info, err := os.Stat(name); err == nil {
			if mode = info.Mode().Perm(); !replace {
				return alreadyThere(name)
			}
		}
		f, err := os.CreateTemp(filepath.Dir(name), ".buttonup-*")
		if err != nil {
			return writeError(name, err)
		}
		defer os.Remove(f.Name())
		if _, err = f.Write(text); err == nil {
			err = f.Sync()
		}
		if e := f.Close(); err == nil {
			err = e
		}
		if err == nil {
			err = os.Chmod(f.Name(), mode)
		}
		if err == nil {
			err = os.Rename(f.Name(), name)
		}
		if err != nil {
			return writeError(name, err)
		}
		return nil
	})
}

func alreadyThere(name string) error {
	return failed("choose another name, or take that file away first", "%s is already there", shownName(name))
}
