package web

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
)

// serviceWorker is the script that keeps pages on a device. It has one address for
// ever, and says itself which files belong to this version.
func (s *Server) serviceWorker(w http.ResponseWriter, r *http.Request) {
	var files []string
	for _, name := range assetOrder {
		if name != "sw.js" && !strings.HasSuffix(name, ".txt") {
			files = append(files, address(name))
		}
	}
	list, err := json.Marshal(files)
	if err != nil {
		panic(err) // names of ours
	}
	script := allAssets().byName["sw.js"]
	h := w.Header()
	h.Set("Content-Type", "text/javascript; charset=utf-8")
	h.Set("Cache-Control", "no-cache")
	// The address of the file holds the hash of its content, and the list those of all
	// others: together they are the version.
	w.Write(slices.Concat([]byte("const assets = "), list, []byte(";\nconst version = \""+s.version()+"\";\n"), script.plain))
}

// version names what the pages are made with.
func (s *Server) version() string {
	var all strings.Builder
	for _, name := range assetOrder {
		all.WriteString(address(name))
	}
	sum := sha256.Sum256([]byte(all.String()))
	return hex.EncodeToString(sum[:6])
}

// offline is shown where a page was not kept. It holds nothing of the record.
func (s *Server) offline(w http.ResponseWriter, r *http.Request) {
	v := s.view(r, "", nil)
	v.Title = "Not connected"
	s.show(w, r, http.StatusOK, offlinePage(v))
}

// pollWhile is how often a page is fetched again that waits for something; never, when
// it does not.
func pollWhile(is bool) string {
	if is {
		return "every 2s"
	}
	return "changed from:body"
}

// joined lists things in a sentence.
func joined(list []string) string { return strings.Join(list, ", ") }
