// Package packs carries the packs that come with the program: the invented demo
// engine and the packs made from published tables of limits.
package packs

import (
	"embed"
	"io/fs"
	"path"
	"sort"
	"strings"
)

//go:embed aldermoor-v1150/*.pack aldermoor-v1150/journals/*.jsonl published/*.pack
var files embed.FS

// File is a file that the program carries.
type File struct {
	Name string
	Text []byte
}

// Demo is the ID of the pack of the demo engine.
const Demo = "aldermoor-v1150"

// Find returns the files of a carried pack: a folder of that name, or a file
// NAME.pack.
func Find(id string) ([]File, bool) {
	if id == "" || strings.ContainsAny(id, `/\`) {
		return nil, false
	}
	if list := read(id); len(list) > 0 {
		return list, true
	}
	for _, folder := range folders() {
		if text, err := files.ReadFile(path.Join(folder, id+".pack")); err == nil {
			return []File{{id + ".pack", text}}, true
		}
	}
	return nil, false
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

// Journal returns a journal that comes with a carried pack.
func Journal(id, name string) ([]byte, bool) {
	text, err := files.ReadFile(path.Join(id, "journals", name+".jsonl"))
	return text, err == nil
}

// IDs lists what Find finds, sorted.
func IDs() []string {
	var list []string
	for _, folder := range folders() {
		entries, _ := files.ReadDir(folder)
		whole := folder != "published" && folder != "templates"
		if whole {
			list = append(list, folder)
			continue
		}
		for _, e := range entries {
			if name, ok := strings.CutSuffix(e.Name(), ".pack"); ok {
				list = append(list, name)
			}
		}
	}
	sort.Strings(list)
	return list
}
