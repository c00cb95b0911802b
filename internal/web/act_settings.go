package web

import (
	"bytes"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
)

func (s *Server) settingRoutes(m *http.ServeMux) {
	m.HandleFunc("GET /settings", hurry(s.settings))
	m.HandleFunc("POST /settings", hurry(s.setWords))
}

// pair is two words of the trade for one thing: the one that packs here are written in,
// and the one that other shops say.
type pair struct{ Key, One, Other string }

// shopWords are the pairs that a shop chooses from.
var shopWords = []pair{
	{"intake", "inlet", "intake"},
	{"cylinder", "barrel", "cylinder"},
	{"tappetblock", "lifter carrier", "tappet block"},
	{"tappet", "lifter", "tappet"},
	{"wristpin", "piston pin", "gudgeon pin"},
	{"rockercover", "rocker box", "rocker cover"},
}

const cookieWords = "buttonup_words"

type settingsView struct {
	view
	Said map[string]bool
}

// settings are how pages look and speak on this device.
func (s *Server) settings(w http.ResponseWriter, r *http.Request) {
	v := &settingsView{view: s.view(r, "bench", nil), Said: map[string]bool{}}
	v.Title, v.Also = "Settings", []string{"act.css"}
	for _, key := range saidWords(r) {
		v.Said[key] = true
	}
	s.show(w, r, http.StatusOK, settingsPage(v))
}

func (s *Server) setWords(w http.ResponseWriter, r *http.Request) {
	var said []string
	for _, p := range shopWords {
		if r.PostForm.Get("word-"+p.Key) == "other" {
			said = append(said, p.Key)
		}
	}
	http.SetCookie(w, &http.Cookie{Name: cookieWords, Value: strings.Join(said, "."), Path: "/", MaxAge: 400 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true})
	http.Redirect(w, r, "/settings", http.StatusSeeOther)
}

// saidWords are the keys of the pairs of which a shop says the other word.
func saidWords(r *http.Request) []string {
	c, err := r.Cookie(cookieWords)
	if err != nil || c.Value == "" {
		return nil
	}
	text, err := url.QueryUnescape(c.Value)
	if err != nil {
		return nil
	}
	return strings.Split(text, ".")
}

var wordPatterns sync.Map // by key, made once

// inShopWords puts a shop's own words for those that the packs are written in. Only what
// is read on the page changes: no address, no value of a field, and nothing that is
// written into the record.
func inShopWords(page []byte, said []string) []byte {
	if len(said) == 0 {
		return page
	}
	var out bytes.Buffer
	out.Grow(len(page) + 256)
	skip := ""
	for len(page) > 0 {
		i := bytes.IndexByte(page, '<')
		if i < 0 {
			i = len(page)
		}
		text := page[:i]
		if skip == "" {
			text = otherWords(text, said)
		}
		out.Write(text)
		page = page[i:]
		if len(page) == 0 {
			break
		}
		j := bytes.IndexByte(page, '>')
		if j < 0 {
			out.Write(page)
			break
		}
		tag := page[:j+1]
		out.Write(tag)
		page = page[j+1:]
		switch {
		case skip != "" && bytes.HasPrefix(tag, []byte("</"+skip)):
			skip = ""
		case skip == "":
			for _, name := range []string{"textarea", "script", "style", "code", "title"} {
				if bytes.HasPrefix(tag, []byte("<"+name)) {
					skip = name
				}
			}
			// An option without a value sends its words.
			if bytes.HasPrefix(tag, []byte("<option")) && !bytes.Contains(tag, []byte("value=")) {
				skip = "option"
			}
		}
	}
	return out.Bytes()
}

func otherWords(text []byte, said []string) []byte {
	for _, p := range shopWords {
		for _, key := range said {
			if key != p.Key || len(bytes.TrimSpace(text)) == 0 {
				continue
			}
			text = patternOf(p).ReplaceAllFunc(text, func(found []byte) []byte {
				other := p.Other
				if found[0] >= 'A' && found[0] <= 'Z' {
					other = strings.ToUpper(other[:1]) + other[1:]
				}
				if bytes.HasSuffix(found, []byte("s")) && !strings.HasSuffix(p.One, "s") {
					other += "s"
				}
				return []byte(other)
			})
		}
	}
	return text
}

func patternOf(p pair) *regexp.Regexp {
	if x, ok := wordPatterns.Load(p.Key); ok {
		return x.(*regexp.Regexp)
	}
	x := regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(p.One) + `s?\b`)
	wordPatterns.Store(p.Key, x)
	return x
}
