package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"io/fs"
	"unicode"
	"unicode/utf8"
)

// The most that a job may be started on. Packs are far smaller.
const (
	// MaxText is the length of one pack or template file in bytes.
	MaxText = 4 << 20
	// MaxFiles is how many files a pack and its templates may have together.
	MaxFiles = 200
	// maxName is the length of a file's name or a template's id, in bytes.
	maxName = 255
)

// NamedText is one file of a pack or of a template: its name, without a folder or
// with one in front of a slash, and its exact bytes.
type NamedText struct {
	Name string
	Text []byte
}

// Template is a template by the id under which a pack extends it.
type Template struct {
	ID    string
	Files []NamedText
}

// Texts are the files that a job is judged by.
type Texts struct {
	Pack      []NamedText
	Templates []Template
}

// PinnedFile is what a job keeps of one file. Template is empty for a file of the
// pack itself.
type PinnedFile struct {
	Template, Name, SHA256 string
	Size                   int64
}

// pinned is a file with its text, on its way into the database.
type pinned struct {
	PinnedFile
	text []byte
}

// pin hashes all files, in their order, the pack first, and refuses what could not be
// told apart or written to a folder again.
func (t Texts) pin() ([]pinned, error) {
	if len(t.Pack) == 0 {
		return nil, refuse(ErrArgument, "", "the job has no pack")
	}
	var all []pinned
	seen := map[[2]string]bool{}
	add := func(template string, f NamedText) error {
		switch key := [2]string{template, f.Name}; {
		case !soundName(f.Name):
			return refuse(ErrArgument, "", "the file name %q cannot be used: it must be plain text of 1 to %d bytes that stays within its folder", f.Name, maxName)
		case seen[key]:
			return refuse(ErrArgument, "", "the file name %q stands twice", f.Name)
		case len(f.Text) > MaxText:
			return refuse(ErrTooLarge, "", "the file %s has %d bytes; %d is the most", f.Name, len(f.Text), MaxText)
		case len(all) == MaxFiles:
			return refuse(ErrTooLarge, "", "the pack and its templates have more than %d files", MaxFiles)
		default:
			seen[key] = true
		}
		sum := sha256.Sum256(f.Text)
		all = append(all, pinned{PinnedFile{template, f.Name, hex.EncodeToString(sum[:]), int64(len(f.Text))}, f.Text})
		return nil
	}
	for _, f := range t.Pack {
		if err := add("", f); err != nil {
			return nil, err
		}
	}
	ids := map[string]bool{}
	for _, template := range t.Templates {
		switch {
		case !soundName(template.ID):
			return nil, refuse(ErrArgument, "", "the template id %q cannot be used: it must be plain text of 1 to %d bytes", template.ID, maxName)
		case ids[template.ID]:
			return nil, refuse(ErrArgument, "", "the template %s stands twice", template.ID)
		case len(template.Files) == 0:
			return nil, refuse(ErrArgument, "", "the template %s has no file", template.ID)
		}
		ids[template.ID] = true
		for _, f := range template.Files {
			if err := add(template.ID, f); err != nil {
				return nil, err
			}
		}
	}
	return all, nil
}

// soundName says whether a name can be shown, stored and written to a folder.
func soundName(name string) bool {
	if name == "" || len(name) > maxName || !utf8.ValidString(name) {
		return false
	}
	for _, r := range name {
		if !unicode.IsPrint(r) || r == '\\' || r == ':' {
			return false
		}
	}
	return name != "." && fs.ValidPath(name)
}

// keepText puts a text into the database unless it is there.
func keepText(ctx context.Context, tx *sql.Tx, f pinned) error {
	var there []byte
	err := tx.QueryRowContext(ctx, "select body from texts where sha256 = $1", f.SHA256).Scan(&there)
	if errors.Is(err, sql.ErrNoRows) {
		text := f.text
		if text == nil {
			text = []byte{} // a nil would be a null
		}
		_, err = tx.ExecContext(ctx, "insert into texts (sha256, body) values ($1, $2)", f.SHA256, text)
		return err
	}
	if err == nil && string(there) != string(f.text) {
		return refuse(ErrDamaged, "restore the last backup into an empty folder",
			"the text kept under %s is not the one that was put there", f.SHA256)
	}
	return err
}

// Texts returns the exact files that a job was started on, each checked against its
// hash.
func (s *Store) Texts(ctx context.Context, job string) (Texts, error) {
	operation := "read the pack of job " + job
	if err := s.enter(operation, false); err != nil {
		return Texts{}, err
	}
	defer s.calls.Done()
	t, err := s.texts(ctx, job)
	return t, explain(operation, err)
}

func (s *Store) texts(ctx context.Context, job string) (t Texts, err error) {
	rows, err := s.db.reader().QueryContext(ctx, `select f.template, f.name, f.sha256, t.body
		from job_files f join texts t on t.sha256 = f.sha256 where f.job = $1 order by f.position`, job)
	if err != nil {
		return t, err
	}
	defer rows.Close()
	for rows.Next() {
		var template, sha string
		var f NamedText
		if err := rows.Scan(&template, &f.Name, &sha, &f.Text); err != nil {
			return t, err
		}
		if sum := sha256.Sum256(f.Text); hex.EncodeToString(sum[:]) != sha {
			return t, refuse(ErrDamaged, "restore the last backup into an empty folder",
				"the text of %s is not the one that the job was started on", f.Name)
		}
		switch n := len(t.Templates); {
		case template == "":
			t.Pack = append(t.Pack, f)
		case n > 0 && t.Templates[n-1].ID == template:
			t.Templates[n-1].Files = append(t.Templates[n-1].Files, f)
		default:
			t.Templates = append(t.Templates, Template{ID: template, Files: []NamedText{f}})
		}
	}
	if err := rows.Err(); err != nil {
		return t, err
	}
	if len(t.Pack) == 0 {
		return t, noSuchJob(job)
	}
	return t, nil
}
