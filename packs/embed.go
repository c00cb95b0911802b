// Package packs carries the packs that come with the program: the invented demo
// engines, the templates that they fill in, and the packs made from published tables
// of limits.
package packs

import (
	"embed"
	"io/fs"
	"path"
	"regexp"
	"sort"
	"strings"
)

//go:embed aldermoor-v1150/*.pack aldermoor-v1150/journals/*.jsonl
//go:embed aldermoor-s575/*.pack aldermoor-s575/journals/*.jsonl
//go:embed templates/*.pack published/*.pack
var files embed.FS

// File is a file that the program carries.
type File struct {
	Name string
	Text []byte
}

// Demo is the ID of the pack of the demo engine.
const Demo = "aldermoor-v1150"

// loose are the folders in which every file is a pack of its own; any other folder is
// one pack.
var loose = map[string]bool{"published": true, "templates": true}

// Find returns the files of a carried pack, and those of the template that it
// extends, so that they can be read without looking further. A pack goes by the name
// of its folder, or of its file where a folder holds several, and by the ID that it
// declares, whatever its file is called.
func Find(id string) ([]File, bool) {
	list := find(id)
	if len(list) == 0 {
		return nil, false
	}
	own := len(list)
	for _, f := range list[:own] {
		if m := extends.FindSubmatch(f.Text); m != nil {
			list = append(list[:own:own], find(string(m[1]))...)
			break
		}
	}
	return list, true
}

func find(id string) []File {
	if id == "" {
		return nil
	}
	all := carried()
	for _, p := range all {
		if p.name == id {
			return p.files
		}
	}
	for _, p := range all {
		if p.declares(id) {
			return p.files
		}
	}
	return nil
}

// carriedPack is a pack with the name that it goes by and its own files.
type carriedPack struct {
	name  string
	files []File
}

// declares reports whether one of the files holds the header of the pack with an ID.
func (p carriedPack) declares(id string) bool {
	for _, f := range p.files {
		if m := header.FindSubmatch(f.Text); m != nil && string(m[1]) == id {
			return true
		}
	}
	return false
}

// A header stands at the left margin, and extends is an attribute of it.
var (
	header  = regexp.MustCompile(`(?m)^pack[ \t]+"([^"\n]+)"`)
	extends = regexp.MustCompile(`(?m)^[ \t]+extends[ \t]*=[ \t]*"([^"\n]+)"`)
)

// carried lists every pack.
func carried() []carriedPack {
	var list []carriedPack
	for _, folder := range folders() {
		all := read(folder)
		switch {
		case loose[folder]:
			for _, f := range all {
				list = append(list, carriedPack{strings.TrimSuffix(path.Base(f.Name), ".pack"), []File{f}})
			}
		case len(all) > 0:
			list = append(list, carriedPack{folder, all})
		}
	}
	return list
}

// read returns the pack files of a folder in name order.
func read(folder string) []File {
	entries, err := files.ReadDir(folder)
	if err != nil {
		return nil
	}
	var list []File
	for _, e := range entries {
		if e.IsDir() || path.Ext(e.Name()) != ".pack" {
			continue
		}
		if text, err := files.ReadFile(path.Join(folder, e.Name())); err == nil {
			list = append(list, File{path.Join(folder, e.Name()), text})
		}
	}
	return list
}

func folders() []string {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil
	}
	var list []string
	for _, e := range entries {
		if e.IsDir() {
			list = append(list, e.Name())
		}
	}
	return list
}

// Journal returns a journal that comes with a carried pack. Journals lie beside the
// files of the pack.
func Journal(id, name string) ([]byte, bool) {
	list := find(id)
	if len(list) == 0 {
		return nil, false
	}
	text, err := files.ReadFile(path.Join(path.Dir(list[0].Name), "journals", name+".jsonl"))
	return text, err == nil
}

// IDs lists the names by which [Find] finds packs, sorted.
func IDs() []string {
	var list []string
	for _, p := range carried() {
		list = append(list, p.name)
	}
	sort.Strings(list)
	return list
}
