package web

import (
	"bytes"
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"
	"sync"

	"buttonup/internal/photo"
	"buttonup/internal/store"
	"buttonup/journal"
	"buttonup/words"
)

// largestPhoto is how much a photo may have on its way in, with what a form adds.
const largestPhoto = photo.Largest + 64<<10

// mostSmall is how many thumbnails are kept in memory.
const mostSmall = 300

// darkroom draws photos anew, two at a time: one takes tens of megabytes while it is
// unpacked.
type darkroom struct {
	busy chan struct{}

	mu    sync.Mutex
	small map[string][]byte
}

func newDarkroom() *darkroom {
	return &darkroom{busy: make(chan struct{}, 2), small: map[string][]byte{}}
}

func (d *darkroom) enter(ctx context.Context) error {
	select {
	case d.busy <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (d *darkroom) leave() { <-d.busy }

// put cleans a photo and keeps it. What it is called is the hash of what is kept, so
// that the same photo sent twice is kept once.
func (s *Server) put(ctx context.Context, r io.Reader) (sha string, err error) {
	if err := s.darkroom.enter(ctx); err != nil {
		return "", err
	}
	picture, _, err := photo.Clean(r)
	s.darkroom.leave()
	if err != nil {
		return "", err
	}
	sha, _, err = s.record.PutPhoto(ctx, bytes.NewReader(picture))
	return sha, err
}

// takePhoto keeps a photo that an outbox sends; the event that names it comes after.
func (s *Server) takePhoto(w http.ResponseWriter, r *http.Request) {
	sha, err := s.put(r.Context(), r.Body)
	if err != nil {
		t := photoTrouble(err)
		refuseJSON(w, t.Status, t.Says+" "+t.Do)
		return
	}
	writeJSON(w, http.StatusOK, map[string]string{"sha256": sha})
}

// photoTrouble says why a photo was not kept.
func photoTrouble(err error) trouble {
	var tooMuch *http.MaxBytesError
	switch {
	case errors.Is(err, photo.ErrKind):
		return trouble{http.StatusUnsupportedMediaType, "Not kept", words.Sentence{Says: "The photo is neither a JPEG nor a PNG.", Do: "Choose another, or let the phone save photos as JPEG (“most compatible”)."}}
	case errors.Is(err, photo.ErrLarge), errors.As(err, &tooMuch):
		return trouble{http.StatusRequestEntityTooLarge, "Not kept", words.Sentence{Says: "The photo is too large.", Do: "Send one of at most 12 MB and 60 million points."}}
	case errors.Is(err, photo.ErrBroken):
		return trouble{http.StatusUnprocessableEntity, "Not kept", words.Sentence{Says: "The photo is damaged.", Do: "Take or choose it again."}}
	}
	return troubleOf(err)
}

// keepPhoto takes a photo from a form, keeps it, and writes down what it shows.
func (s *Server) keepPhoto(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	f, _, err := r.FormFile("photo")
	if err != nil {
		s.trouble(w, r, unusable("No photo was chosen.", "Go back and take or choose one."))
		return
	}
	defer f.Close()
	key, of := r.PostForm.Get("key"), r.PostForm.Get("of")
	if !soundKey(key) {
		s.trouble(w, r, unusable("The form was not whole.", "Open the page again. Nothing was kept."))
		return
	}
	sha, err := s.put(r.Context(), f)
	if err != nil {
		s.trouble(w, r, photoTrouble(err))
		return
	}
	line, err := journal.New(key, s.options.Now(), s.who(r), journal.Photo{SHA256: sha, Of: of}).Encode()
	if err != nil {
		s.trouble(w, r, unusable(words.Upper(err.Error())+".", "Nothing was kept."))
		return
	}
	answers, err := s.keepOnce(r, sh.Job.ID, [][]byte{line})
	switch {
	case err != nil:
		s.failed(w, r, err)
	case answers[0].Outcome != store.Kept.String() && answers[0].Outcome != store.Already.String():
		s.trouble(w, r, unusable("The photo was not written down: "+answers[0].Says, "Open the page again and send it once more."))
	default:
		http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	}
}

// photo shows a photo or its thumbnail. A name is a hash, so it never shows another.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) {
	sha := r.PathValue("sha")
	f, err := s.record.Photo(sha)
	if err != nil {
		s.trouble(w, r, notFound("There is no such photo."))
		return
	}
	defer f.Close()
	h := w.Header()
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	if r.URL.Path == "/photo/"+sha+"/small" {
		small, err := s.small(r.Context(), sha, f)
		if err != nil {
			h.Set("Cache-Control", "no-store")
			s.trouble(w, r, photoTrouble(err))
			return
		}
		h.Set("Content-Type", "image/jpeg")
		w.Write(small)
		return
	}
	var head [8]byte
	n, _ := io.ReadFull(f, head[:])
	kind := mime.TypeByExtension(".jpg")
	switch {
	case bytes.HasPrefix(head[:n], []byte{0xff, 0xd8, 0xff}):
	case bytes.HasPrefix(head[:n], []byte("\x89PNG\r\n\x1a\n")):
		kind = "image/png"
	default:
		// What came in by another way than these pages is not shown as a page.
		h.Set("Content-Disposition", "attachment")
		kind = "application/octet-stream"
	}
	h.Set("Content-Type", kind)
	if _, err := f.Seek(0, io.SeekStart); err == nil {
		io.Copy(w, f)
	}
}

func (s *Server) small(ctx context.Context, sha string, f io.Reader) ([]byte, error) {
	d := s.darkroom
	d.mu.Lock()
	made := d.small[sha]
	d.mu.Unlock()
	if made != nil {
		return made, nil
	}
	if err := d.enter(ctx); err != nil {
		return nil, err
	}
	made, err := photo.Small(f)
	d.leave()
	if err != nil {
		return nil, err
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.small) >= mostSmall {
		clear(d.small)
	}
	d.small[sha] = made
	return made, nil
}

type photosView struct {
	view
	Photos []shownPhoto
	Of     []photoSubject
	Chosen string
	Key    string
}

// shownPhoto is a photo of the journal.
type shownPhoto struct {
	journal.PhotoRecord
	Says string
}

// photoSubject is what a photo can be of.
type photoSubject struct{ Reference, Says string }

// photos shows the photos of a job and takes another.
func (s *Server) photos(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	p := &photosView{view: s.view(r, "photos", sh), Chosen: r.URL.Query().Get("of"), Key: s.record.NewID()}
	p.Title, p.Also = "Photos", []string{"shop.css", "photo.js"}
	says := map[string]string{}
	add := func(reference, title string) {
		says[reference] = title
		p.Of = append(p.Of, photoSubject{reference, title})
	}
	for _, op := range sh.A.Next {
		add(op.String(), words.Operation(sh.pack.Pack, op))
	}
	for i := range sh.A.Results {
		if x := &sh.A.Results[i]; x.Kind == "dimension" || x.Kind == "check" {
			add(strings.TrimSpace(x.Reference()+" "+x.Place), words.Title(x.Title, x.Place))
		}
	}
	if p.Chosen != "" && says[p.Chosen] == "" {
		add(p.Chosen, p.Chosen)
	}
	for i := len(sh.State.Photos) - 1; i >= 0; i-- {
		rec := sh.State.Photos[i]
		p.Photos = append(p.Photos, shownPhoto{rec, orElse(says[rec.Of], rec.Of)})
	}
	s.show(w, r, http.StatusOK, photosPage(p))
}
