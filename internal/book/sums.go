package book

import (
	"bytes"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"buttonup/journal"
)

// A book carries a list of sums, so that it can be told of every byte of it whether it
// is as it was printed: the file is cut into pieces (a sheet, a photo, the rest), and
// each has a line
//
//	piece OFFSET LENGTH SHA-256 NAME
//
// For each signature of the job itself it says what was signed,
//
//	seal EVENTS CHAIN PACK CLOSED KEY SIGNATURE
//
// so that a book tells of it wherever it was printed. The list ends with the sum of all
// its lines, and before that, where the shop's key is at hand, with a signature over the
// lines above it. In a PDF it is an object of its own,
// added as an update of the file; in HTML a comment at the end.
const (
	sumsHead = "buttonup book sums 1\n"
	sumsEnd  = "list "
)

// piece is a stretch of a file that is one thing.
type piece struct {
	from, to int
	name     string
}

// Seal adds the list of sums to a file of the job made by PDF or HTML. key may be nil;
// what is signed names the time at which the file was made.
func (j *Job) Seal(file []byte, key ed25519.PrivateKey) []byte {
	pdf := bytes.HasPrefix(file, []byte("%PDF-"))
	pieces := htmlPieces(file)
	if pdf {
		pieces = pdfPieces(file)
	}
	list := j.sumsList(file, pieces, key)
	if pdf {
		return append(slices.Clip(file), pdfTail(file, list)...)
	}
	return append(slices.Clip(file), htmlTail(list)...)
}

func (j *Job) sumsList(file []byte, pieces []piece, key ed25519.PrivateKey) []byte {
	var b bytes.Buffer
	b.WriteString(sumsHead)
	fmt.Fprintf(&b, "record %s\nmade %s\n", j.Mark(), j.Now.UTC().Format(time.RFC3339))
	for _, p := range pieces {
		fmt.Fprintf(&b, "piece %d %d %x %s\n", p.from, p.to-p.from, sha256.Sum256(file[p.from:p.to]), p.name)
	}
	for _, s := range j.Seals {
		if s.Wrong == "" {
			fmt.Fprintf(&b, "seal %d %s %s %s %s %s\n", s.Events, s.Head, s.PackSum, s.At.UTC().Format(time.RFC3339), s.Key, s.Signature)
		}
	}
	if key != nil {
		public := key.Public().(ed25519.PublicKey)
		signature := ed25519.Sign(key, b.Bytes())
		fmt.Fprintf(&b, "key %x\nsignature %x\n", public, signature)
	}
	fmt.Fprintf(&b, sumsEnd+"%x\n", sha256.Sum256(b.Bytes()))
	return b.Bytes()
}

var (
	pdfKids     = regexp.MustCompile(`/Type /Pages /Count \d+ /Kids \[([^\]]*)\]`)
	pdfContents = regexp.MustCompile(`/Contents (\d+) 0 R`)
	pdfTrailer  = regexp.MustCompile(`trailer\n<< (.*) /Size (\d+) >>\nstartxref\n(\d+)\n%%EOF\n$`)
	pdfImage    = regexp.MustCompile(`/Subtype /Image`)
)

// pdfOffsets reads where the objects of a file of ours stand, from its table at the
// end.
func pdfOffsets(file []byte) (offsets []int, table int) {
	m := pdfTrailer.FindSubmatch(file)
	if m == nil {
		return nil, 0
	}
	size, _ := strconv.Atoi(string(m[2]))
	table, _ = strconv.Atoi(string(m[3]))
	head := fmt.Sprintf("xref\n0 %d\n", size)
	if table <= 0 || table+len(head)+20*size > len(file) || !bytes.HasPrefix(file[table:], []byte(head)) {
		return nil, 0
	}
	for i := range size {
		line := file[table+len(head)+20*i:]
		at, err := strconv.Atoi(string(line[:10]))
		if err != nil || i > 0 && (at <= 0 || at >= table) {
			return nil, 0
		}
		offsets = append(offsets, at)
	}
	return offsets, table
}

// pdfPieces cuts a PDF at its objects and names those that belong to a sheet or are a
// photo.
func pdfPieces(file []byte) []piece {
	offsets, table := pdfOffsets(file)
	if len(offsets) == 0 {
		return []piece{{0, len(file), "whole file"}}
	}
	type object struct{ n, at int }
	var objects []object
	for n, at := range offsets {
		if n > 0 {
			objects = append(objects, object{n, at})
		}
	}
	slices.SortFunc(objects, func(a, b object) int { return a.at - b.at })
	end := func(i int) int {
		if i+1 < len(objects) {
			return objects[i+1].at
		}
		return table
	}
	names := map[int]string{}
	dict := func(n int) []byte {
		for i, o := range objects {
			if o.n == n {
				return file[o.at:min(end(i), o.at+4096)]
			}
		}
		return nil
	}
	for i, o := range objects {
		d := file[o.at:end(i)]
		if m := pdfKids.FindSubmatch(d); m != nil {
			for k, kid := range strings.Split(string(m[1]), " R ") {
				n, _ := strconv.Atoi(strings.Fields(kid)[0])
				names[n] = fmt.Sprintf("sheet %d", k+1)
				if c := pdfContents.FindSubmatch(dict(n)); c != nil {
					content, _ := strconv.Atoi(string(c[1]))
					names[content] = fmt.Sprintf("sheet %d", k+1)
				}
			}
		}
	}
	photo := 0
	for i, o := range objects {
		if names[o.n] == "" && pdfImage.Match(file[o.at:min(end(i), o.at+400)]) {
			photo++
			names[o.n] = fmt.Sprintf("photo %d", photo)
		}
	}
	pieces := []piece{{0, objects[0].at, "beginning of the file"}}
	for i, o := range objects {
		name := names[o.n]
		if name == "" {
			name = fmt.Sprintf("part %d that all sheets share", o.n)
		}
		pieces = append(pieces, piece{o.at, end(i), name})
	}
	return append(pieces, piece{table, len(file), "table at the end of the file"})
}

// pdfTail is the update that adds the list to a PDF.
func pdfTail(file, list []byte) []byte {
	m := pdfTrailer.FindSubmatch(file)
	if m == nil {
		return list
	}
	size, _ := strconv.Atoi(string(m[2]))
	var b bytes.Buffer
	at := len(file)
	fmt.Fprintf(&b, "%d 0 obj\n<< /Type /ButtonupSums /Length %d >>\nstream\n%s\nendstream\nendobj\n", size, len(list), list)
	table := at + b.Len()
	fmt.Fprintf(&b, "xref\n%d 1\n%010d 00000 n \ntrailer\n<< %s /Prev %s /Size %d >>\nstartxref\n%d\n%%%%EOF\n", size, at, m[1], m[3], size+1, table)
	return b.Bytes()
}

// htmlPieces cuts a page at its sections and photos.
func htmlPieces(file []byte) []piece {
	cuts := regexp.MustCompile(`<h1 id="s\d+">([^<]*)|<figure><img [^>]*>`).FindAllSubmatchIndex(file, -1)
	var pieces []piece
	from, name, photo := 0, "beginning of the file", 0
	for _, c := range cuts {
		if c[0] > from {
			pieces = append(pieces, piece{from, c[0], name})
		}
		from = c[0]
		if c[2] >= 0 {
			name = "section " + strings.ReplaceAll(string(file[c[2]:c[3]]), "\n", " ")
			continue
		}
		photo++
		pieces = append(pieces, piece{c[0], c[1], fmt.Sprintf("photo %d", photo)})
		from = c[1]
	}
	return append(pieces, piece{from, len(file), name})
}

func htmlTail(list []byte) []byte { return fmt.Appendf(nil, "<!--\n%s-->\n", list) }

// LooksSealed says whether a file begins like a book of ours in HTML.
func LooksSealed(head []byte) bool {
	return bytes.HasPrefix(head, []byte("<!doctype html>")) && bytes.Contains(head, []byte("<title>Build book"))
}

// HasSums says whether a file holds a list of sums.
func HasSums(file []byte) bool { return bytes.Contains(file, []byte(sumsHead)) }

// SumsReport is what was found of a book.
type SumsReport struct {
	Sheets, Photos int
	Mark, Made     string
	// Key is the public key of the signature, empty for none; Signature what is wrong
	// with it.
	Key, Signature string
	// Seals are the signatures of the job that the book tells of.
	Seals  []SumsSeal
	Damage []SumsDamage
}

// SumsSeal is a signature of the job, made when it was closed.
type SumsSeal struct {
	Events  int
	At, Key string
	// Wrong is empty for one that fits what it says.
	Wrong string
}

// SumsDamage is a piece that is not as it was printed.
type SumsDamage struct{ What, Name, Says string }

func (r *SumsReport) damage(what, name, format string, args ...any) {
	r.Damage = append(r.Damage, SumsDamage{what, name, fmt.Sprintf(format, args...)})
}

// CheckSums holds every byte of a book against its list of sums.
func CheckSums(file []byte) *SumsReport {
	r := &SumsReport{}
	at := bytes.LastIndex(file, []byte(sumsHead))
	if at < 0 {
		// The head of the list may be what was changed.
		if at = bytes.LastIndex(file, []byte("\nrecord ")); at >= 0 {
			at = max(0, at+1-len(sumsHead))
		}
	}
	if at < 0 {
		r.damage("file", "list of sums", "there is no list of sums: this is no book of Buttonup, or its end is lost")
		return r
	}
	list := file[at:]
	end := -1
	if m := regexp.MustCompile(`(?m)^list [0-9a-f]{64}\n`).FindIndex(list); m != nil {
		end = m[1]
	}
	if end < 0 {
		if m := regexp.MustCompile(`\n(endstream|-->)`).FindIndex(list); m != nil {
			end = m[0] + 1
		} else {
			end = len(list)
		}
	}
	list = list[:end]
	var signed []byte
	covered := 0
	var pieces []piece
	sums := map[int]string{}
	whole := bytes.HasPrefix(list, []byte(sumsHead))
	n := 0
	for line := range bytes.Lines(list) {
		text := strings.TrimSuffix(string(line), "\n")
		word, rest, _ := strings.Cut(text, " ")
		switch word {
		case "record":
			r.Mark = rest
		case "made":
			r.Made = rest
		case "piece":
			f := strings.SplitN(rest, " ", 4)
			if len(f) != 4 {
				whole = false
				break
			}
			from, err1 := strconv.Atoi(f[0])
			length, err2 := strconv.Atoi(f[1])
			if err1 != nil || err2 != nil || from != covered || length < 0 || from+length > at {
				whole = false
				break
			}
			sums[len(pieces)] = f[2]
			pieces = append(pieces, piece{from, from + length, f[3]})
			covered = from + length
		case "seal":
			seal, ok := sealOf(rest)
			whole = whole && ok
			r.Seals = append(r.Seals, seal)
		case "key":
			r.Key = rest
			signed = list[:n]
		case "signature":
			r.Signature = checkSums(signed, r.Key, rest)
		case "list":
			sum := sha256.Sum256(list[:n])
			whole = whole && rest == hex.EncodeToString(sum[:])
		}
		n += len(line)
	}
	if !bytes.Contains(list, []byte("\n"+sumsEnd)) {
		whole = false
	}
	sheets, photos := map[string]bool{}, map[string]bool{}
	told := map[string]bool{}
	var wrong []SumsDamage
	for i, p := range pieces {
		what := "file"
		switch {
		case strings.HasPrefix(p.name, "sheet "), strings.HasPrefix(p.name, "section "):
			what = "page"
			sheets[p.name] = true
		case strings.HasPrefix(p.name, "photo "):
			what = "photo"
			photos[p.name] = true
		}
		if sum := sha256.Sum256(file[p.from:p.to]); hex.EncodeToString(sum[:]) != sums[i] && !told[p.name] {
			told[p.name] = true
			wrong = append(wrong, SumsDamage{what, p.name, p.name + " was changed"})
		}
	}
	r.Sheets, r.Photos = len(sheets), len(photos)
	if !whole {
		r.damage("file", "list of sums", "the list of sums at the end of the file was changed")
	} else {
		r.Damage = append(r.Damage, wrong...)
	}
	// What stands around the list has one spelling only.
	if covered > 0 {
		tail := htmlTail(list)
		if bytes.HasPrefix(file, []byte("%PDF-")) || bytes.Contains(list, []byte("sheet 1\n")) {
			tail = pdfTail(file[:covered], list)
		}
		if whole && len(wrong) == 0 && !bytes.Equal(file[covered:], tail) {
			r.damage("file", "end of the file", "what stands around the list of sums at the end of the file was changed")
		}
	} else if whole {
		r.damage("file", "list of sums", "the list of sums tells of no piece of the file")
	}
	for _, s := range r.Seals {
		if len(r.Damage) == 0 && s.Wrong != "" {
			r.damage("signature", "", "the signature of the job of %s does not hold: %s", s.At, s.Wrong)
		}
	}
	if len(r.Damage) == 0 && r.Signature != "" {
		r.damage("signature", "", "the signature of the book does not hold: %s", r.Signature)
	}
	return r
}

// sealOf reads what a book says of a signature of the job, and checks it.
func sealOf(line string) (SumsSeal, bool) {
	f := strings.Split(line, " ")
	if len(f) != 6 {
		return SumsSeal{Wrong: "it is not whole"}, false
	}
	events, err1 := strconv.Atoi(f[0])
	at, err2 := time.Parse(time.RFC3339, f[3])
	s := SumsSeal{Events: events, At: f[3], Key: f[4]}
	if err1 != nil || err2 != nil {
		s.Wrong = "it is not whole"
		return s, false
	}
	message := journal.SealMessage(journal.Seal{Events: events, Head: f[1], PackSum: f[2]}, at)
	if says := checkSums(message, f[4], f[5]); says != "" {
		s.Wrong = "it does not fit what it says"
	}
	return s, true
}

func checkSums(signed []byte, key, signature string) string {
	k, err1 := hex.DecodeString(key)
	s, err2 := hex.DecodeString(signature)
	if err1 != nil || err2 != nil || len(k) != ed25519.PublicKeySize {
		return "key or signature is not one"
	}
	if !ed25519.Verify(k, signed, s) {
		return "it does not fit the list of sums"
	}
	return ""
}
