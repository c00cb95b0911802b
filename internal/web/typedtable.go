package web

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"

	table "buttonup/internal/sheet"
	"buttonup/internal/store"
	rows "buttonup/internal/typed"
	"buttonup/words"
)

// largestReadings is how much a table of readings may bring, with what a form adds.
const largestReadings = 2 << 20

// isTable says whether a request brings a table of readings.
func isTable(r *http.Request) bool {
	return strings.HasPrefix(r.URL.Path, "/job/") && strings.HasSuffix(r.URL.Path, "/readingstable")
}

// typedView is a table of readings under way: what is understood of it before it is kept.
type typedView struct {
	view
	Name, Text string
	Decimal    rows.Decimal
	Table      *rows.Table
	// Asks is set while it is not said what the commas mark.
	Asks    bool
	Refused []rows.Row
	Remarks []rows.Row
	Wrong   string
	Kept    int
}

// readingsTable takes a table of readings: first it tells what it understands, then it is
// kept, all of it or nothing.
func (s *Server) readingsTable(w http.ResponseWriter, r *http.Request) {
	sh, err := s.desks.sheet(r.Context(), r.PathValue("job"))
	if err != nil {
		s.failed(w, r, err)
		return
	}
	v := &typedView{view: s.view(r, "readingstable", sh)}
	v.Title, v.Also = "A table of readings", []string{"act.css", "parts.css"}
	status := http.StatusOK
	if r.Method == http.MethodPost {
		if v.take(r); v.Wrong == "" {
			v.understand(s, r, sh)
		}
		if v.Wrong == "" && !v.Asks && len(v.Refused) == 0 && r.PostForm.Get("keep") != "" {
			if err := s.keepTable(r, sh, v); err != nil {
				s.failed(w, r, err)
				return
			}
		}
		if v.Wrong != "" || len(v.Refused) > 0 {
			status = http.StatusUnprocessableEntity
		}
	}
	s.show(w, r, status, readingsTablePage(v))
}

// take reads what the form brought: a file, or text that was pasted or understood before.
func (v *typedView) take(r *http.Request) {
	v.Name, v.Text = orElse(r.PostForm.Get("name"), "the table"), r.PostForm.Get("table")
	v.Decimal = rows.Decimal(r.PostForm.Get("decimal"))
	if v.Decimal != rows.Comma && v.Decimal != rows.Point {
		v.Decimal = rows.NotSaid
	}
	f, head, err := r.FormFile("file")
	if err != nil {
		if v.Text == "" {
			v.Wrong = "No table was chosen or pasted."
		}
		return
	}
	defer f.Close()
	content, err := io.ReadAll(io.LimitReader(f, largestReadings))
	if err != nil || len(content) == 0 {
		if v.Text == "" {
			v.Wrong = "The file is empty."
		}
		return
	}
	v.Name = head.Filename
	if !table.IsWorkbook(content) {
		v.Text = string(content)
		return
	}
	book, err := table.ReadWorkbook(content, "")
	switch {
	case errors.Is(err, table.ErrTooLarge):
		v.Wrong = "The workbook is larger than any table of readings: copy the readings into one of their own."
		return
	case err != nil:
		v.Wrong = "The file is zipped and no workbook that can be read: save it anew as XLSX or as CSV."
		return
	}
	v.Text = string(book.CSV())
	for _, x := range book.Trouble {
		v.Refused = append(v.Refused, rows.Row{Row: x.Row, Says: x.Says, Do: x.Remedy})
	}
	if book.Formulas > 0 {
		v.Remarks = append(v.Remarks, rows.Row{Says: words.Count(book.Formulas, "cell holds a formula", "cells hold a formula") + ": the value that the workbook was saved with is taken, nothing is computed"})
	}
	if len(book.Names) > 1 {
		v.Remarks = append(v.Remarks, rows.Row{Says: "only the sheet " + book.Name + " was read, of " + strings.Join(book.Names, ", ")})
	}
}

// understand holds every row against the pack and the journal.
func (v *typedView) understand(s *Server, r *http.Request, sh *sheet) {
	t := &rows.Table{By: s.who(r), Now: s.options.Now(), Decimal: v.Decimal, Known: rows.KnownOf(sh.State)}
	if err := t.Read(v.Name, []byte(v.Text)); err != nil {
		v.Wrong = words.Upper(err.Error()) + "."
		var told *rows.Error
		if errors.As(err, &told) && told.Do != "" {
			v.Wrong += " " + words.Upper(told.Do) + "."
		}
		return
	}
	v.Table = t
	if t.Commas > 0 && v.Decimal == rows.NotSaid {
		v.Asks = true
		return
	}
	refused, remarks := rows.Against(sh.pack.Pack, sh.State, t.Events)
	v.Refused = append(append(v.Refused, t.Refused...), refused...)
	v.Remarks = append(append(v.Remarks, remarks...), rows.Struck(sh.State, t.Events)...)
}

// keepTable writes the readings down, each once.
func (s *Server) keepTable(r *http.Request, sh *sheet, v *typedView) error {
	lines := make([][]byte, len(v.Table.Events))
	for i := range lines {
		lines[i] = v.Table.Events[i].Bytes
	}
	answers, err := s.keepOnce(r, sh.Job.ID, lines)
	if err != nil {
		return err
	}
	for _, a := range answers {
		if a.Outcome == store.Kept.String() {
			v.Kept++
		} else if a.Outcome == store.Already.String() {
			v.Table.Already++
		}
	}
	v.Text = ""
	return nil
}

// mailQuery is what stands in an address for mail behind its colon.
func mailQuery(subject, body string) string {
	return "?subject=" + url.PathEscape(subject) + "&body=" + url.PathEscape(body)
}
