package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"path"
	"strings"
	"sync"
)

//go:embed assets
var assetFiles embed.FS

// asset is a file as it is sent: under a name that holds the hash of its content, so
// that a browser may keep it for ever.
type asset struct {
	address, kind string
	plain, zipped []byte
}

// assets are all of them, by name and by address.
type assets struct {
	byName, byAddress map[string]*asset
}

// The fonts come first because the style sheet names their addresses.
var assetOrder = []string{
	"b612-latin-400-normal.woff2", "b612-latin-700-normal.woff2", "b612-mono-latin-700-normal.woff2",
	"mark.svg", "htmx.min.js", "app.js", "outbox.js", "tokens.css", "app.css", "outbox.css",
	"parts.css", "scan.js",
	"act.js", "act.css", "pattern.js", "start.js", "card.css",
	"photo.js", "shop.css", "slip.js", "sw.js",
	"figures.css", "work.css", "stands.js", "record.css",
	"htmx.LICENSE.txt", "b612.OFL.txt",
}

var assetKinds = map[string]string{
	".woff2": "font/woff2", ".svg": "image/svg+xml", ".js": "text/javascript; charset=utf-8",
	".css": "text/css; charset=utf-8", ".txt": "text/plain; charset=utf-8",
}

const assetFolder = "/assets/"

// allAssets is made once: the files are part of the program.
var allAssets = sync.OnceValue(func() *assets {
	a := &assets{byName: map[string]*asset{}, byAddress: map[string]*asset{}}
	for _, name := range assetOrder {
		text, err := assetFiles.ReadFile("assets/" + name)
		if err != nil {
			panic(err) // the program was built without one of its files
		}
		ext := path.Ext(name)
		if ext == ".css" {
			for _, other := range assetOrder {
				if x := a.byName[other]; x != nil && path.Ext(other) == ".woff2" {
					text = bytes.ReplaceAll(text, []byte("fonts/"+other), []byte(path.Base(x.address)))
				}
			}
		}
		if ext == ".js" && !strings.Contains(name, ".min.") {
			text = lean(text)
		}
		sum := sha256.Sum256(text)
		x := &asset{address: assetFolder + strings.TrimSuffix(name, ext) + "-" + hex.EncodeToString(sum[:6]) + ext, kind: assetKinds[ext], plain: text}
		if ext != ".woff2" {
			if z := zip(text, gzip.BestCompression); len(z) < len(text) {
				x.zipped = z
			}
		}
		a.byName[name], a.byAddress[x.address] = x, x
	}
	return a
})

// lean leaves out the lines of a script that are for us: a first visit should be light.
func lean(text []byte) []byte {
	var b bytes.Buffer
	for line := range bytes.Lines(text) {
		line = bytes.TrimLeft(line, " ")
		if !bytes.HasPrefix(line, []byte("//")) {
			b.Write(line)
		}
	}
	return b.Bytes()
}

func zip(text []byte, level int) []byte {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, level)
	if err != nil {
		panic(err) // the level is one of ours
	}
	z.Write(text)
	z.Close()
	return b.Bytes()
}

// address returns where a file is served.
func address(name string) string { return allAssets().byName[name].address }

// glyphs are the drawings of all signs by name. They stand in the page itself: a
// browser makes a tree of its own for each <use>, which a slow phone feels.
var glyphs = sync.OnceValue(func() map[string]string {
	text, err := assetFiles.ReadFile("assets/glyphs.svg")
	if err != nil {
		panic(err) // the program was built without one of its files
	}
	all := map[string]string{}
	for _, symbol := range strings.Split(string(text), "<symbol ")[1:] {
		head, rest, _ := strings.Cut(symbol, ">")
		_, name, _ := strings.Cut(head, `id="g-`)
		name, _, _ = strings.Cut(name, `"`)
		all[name], _, _ = strings.Cut(rest, "</symbol>")
	}
	return all
})

// glyph returns the drawing of a sign, for a view of 24 by 24.
func glyph(name string) string {
	drawn, ok := glyphs()[name]
	if !ok {
		panic("no sign is called " + name)
	}
	return drawn
}

func acceptsGzip(r *http.Request) bool {
	for _, part := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		name, quality, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			q := strings.ReplaceAll(quality, " ", "")
			return q != "q=0" && q != "q=0.0" && q != "q=0.00" && q != "q=0.000"
		}
	}
	return false
}

func (s *Server) serveAsset(w http.ResponseWriter, r *http.Request) {
	x := allAssets().byAddress[r.URL.Path]
	if x == nil {
		s.trouble(w, r, notFound("There is no such file."))
		return
	}
	h := w.Header()
	h.Set("Content-Type", x.kind)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("Vary", "Accept-Encoding")
	body := x.plain
	if x.zipped != nil && acceptsGzip(r) {
		h.Set("Content-Encoding", "gzip")
		body = x.zipped
	}
	w.Write(body)
}
