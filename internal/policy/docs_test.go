package policy

import (
	"go/ast"
	"go/token"
	"regexp"
	"strings"
	"testing"
)

// declared is an exported declaration of the core.
type declared struct {
	pos token.Pos
	// name is the declaration's own, full is Type.Name for a method.
	name, full string
	doc        string
	function   bool
	receiver   string
	folder     string
	text       string
}

// exported lists the exported declarations of the core. Members of a group of
// constants or variables are left to the comment of their group.
func (t *tree) exported() []declared {
	var list []declared
	for _, s := range t.sources {
		if s.test || !isCore(s.folder) {
			continue
		}
		for _, d := range s.file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				r := receiverOf(d)
				if !d.Name.IsExported() || r != "" && !ast.IsExported(r) {
					continue
				}
				full := d.Name.Name
				if r != "" {
					full = r + "." + full
				}
				list = append(list, declared{pos: d.Pos(), name: d.Name.Name, full: full, doc: d.Doc.Text(), function: true, receiver: r, folder: s.folder, text: s.text})
			case *ast.GenDecl:
				list = append(list, t.group(s, d)...)
			}
		}
	}
	return list
}

// group lists what a declaration of types, constants or variables exports.
func (t *tree) group(s *source, d *ast.GenDecl) []declared {
	var list []declared
	alone := !d.Lparen.IsValid()
	add := func(pos token.Pos, name string, docs ...*ast.CommentGroup) {
		doc := ""
		for _, g := range docs {
			if doc == "" {
				doc = g.Text()
			}
		}
		list = append(list, declared{pos: pos, name: name, full: name, doc: doc, folder: s.folder, text: s.text})
	}
	for _, spec := range d.Specs {
		switch spec := spec.(type) {
		case *ast.TypeSpec:
			if spec.Name.IsExported() {
				if alone {
					add(spec.Pos(), spec.Name.Name, d.Doc, spec.Doc)
				} else {
					add(spec.Pos(), spec.Name.Name, spec.Doc)
				}
			}
		case *ast.ValueSpec:
			for _, n := range spec.Names {
				switch {
				case !n.IsExported():
				case alone:
					add(n.Pos(), n.Name, d.Doc, spec.Doc)
				case d.Doc == nil && spec.Doc == nil && spec.Comment == nil:
					add(n.Pos(), n.Name) // a group without a word on anything
				}
			}
		}
	}
	return list
}

func receiverOf(d *ast.FuncDecl) string {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return ""
	}
	e := d.Recv.List[0].Type
	for {
		switch x := e.(type) {
		case *ast.StarExpr:
			e = x.X
		case *ast.IndexExpr:
			e = x.X
		case *ast.IndexListExpr:
			e = x.X
		case *ast.Ident:
			return x.Name
		default:
			return ""
		}
	}
}

func TestExportedNamesAreDocumented(t *testing.T) {
	all := repository(t)
	for _, d := range all.exported() {
		switch {
		case strings.TrimSpace(d.doc) == "":
			t.Errorf("%s: %s has no comment", all.at(d.pos), d.full)
		case !startsWith(d.doc, d.name):
			first, _, _ := strings.Cut(d.doc, "\n")
			t.Errorf("%s: the comment of %s does not begin with its name: %q", all.at(d.pos), d.full, first)
		}
	}
	for _, f := range all.folders() {
		documented := false
		for _, s := range all.sources {
			if s.folder == f && !s.test && s.file.Doc != nil {
				documented = true
				if want := "Package " + s.file.Name.Name + " "; isCore(f) && !strings.HasPrefix(s.file.Doc.Text(), want) {
					t.Errorf("%s: the comment of the package does not begin with %q", s.name, strings.TrimSpace(want))
				}
			}
		}
		if !documented {
			t.Errorf("package %s has no comment that says what it is for", f)
		}
	}
}

// startsWith reports whether a comment begins with a name as a word.
func startsWith(doc, name string) bool {
	rest, ok := strings.CutPrefix(doc, name)
	return ok && (rest == "" || !isWordByte(rest[0]))
}

func isWordByte(c byte) bool {
	return c == '_' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
}

// withoutSource are the exported functions of mechanics and measure that state no
// source because they are no formula, with what they are instead.
var withoutSource = map[string]string{
	"measure.Unknowns.New":                        "hands out a name",
	"measure.Unknowns.Room":                       "hands out a name",
	"measure.Unknowns.Shared":                     "hands out a name",
	"measure.Metals":                              "lists a table whose rows have their sources",
	"measure.FindMetal":                           "looks a row up whose source stands in it",
	"measure.Plan.Cells":                          "counts",
	"measure.Plan.Times":                          "counts",
	"measure.Plan.Cell":                           "finds an index",
	"measure.Plan.Label":                          "writes a name",
	"measure.CellText":                            "writes a name",
	"measure.Limits.Sides":                        "reports what is there",
	"measure.Set.Complete":                        "reports what is there",
	"measure.Set.Empty":                           "reports what is there",
	"measure.Set.Missing":                         "reports what is not there",
	"measure.Set.Largest":                         "picks a reading",
	"measure.Set.Smallest":                        "picks a reading",
	"mechanics/crank.ParseSense":                  "reads a word",
	"mechanics/crank.Push.Size":                   "the length of a vector",
	"mechanics/crank.Vector.Size":                 "the length of a vector",
	"mechanics/crank.Vector.Angle":                "the direction of a vector",
	"mechanics/crank.Unbalance.GramMillimetres":   "converts a unit",
	"mechanics/joint.BothAt":                      "builds a value",
	"mechanics/joint.Reach.Bottoms":               "compares two lengths",
	"mechanics/joint.Thread.Standard":             "returns a field",
	"mechanics/joint.Thread.Series":               "returns a field",
	"mechanics/joint.Thread.Diameter":             "returns a field",
	"mechanics/joint.Thread.Pitch":                "returns a field",
	"mechanics/joint.Thread.ThreadsPerInch":       "converts a unit",
	"mechanics/joint.Thread.LeftHand":             "returns a field",
	"mechanics/joint.Thread.Handed":               "changes a field",
	"mechanics/joint.Tightening.Shares":           "divides three parts by their sum",
	"mechanics/surface.Plane.Height":              "the equation of a plane",
	"mechanics/valvetrain.ParseLaw":               "reads a word",
	"mechanics/joint.ParseState":                  "reads a word",
	"mechanics/joint.TensileStress":               "a force over an area",
	"mechanics/valvetrain.FollowerMotion.AtSpeed": "the chain rule",
	"mechanics/valvetrain.Lobe.At":                "evaluates a curve whose constructor names the source",
	"mechanics/valvetrain.Measured.At":            "evaluates a curve whose constructor names the source",
	"mechanics/valvetrain.Window.Holds":           "compares a value with two fields",
}

var docLink = regexp.MustCompile(`\[\*?([A-Za-z][A-Za-z0-9_.]*)\]`)

// A formula says where it comes from: in its own comment, in that of the type whose
// method it is, or in that of a function or type that its comment points to with a
// link, as an inverse does.
func TestFormulasNameTheirSource(t *testing.T) {
	all := repository(t)
	docs := map[string]string{}
	for _, d := range all.exported() {
		docs[d.folder+"."+d.full] = d.doc
	}
	sourced := func(folder, name string) bool { return strings.Contains(docs[folder+"."+name], "Source:") }
	used := map[string]bool{}
	for _, d := range all.exported() {
		if !d.function || d.folder != "measure" && !strings.HasPrefix(d.folder, "mechanics/") {
			continue
		}
		if d.folder == "mechanics/argument" {
			continue // refuses arguments and knows no formula
		}
		switch d.name {
		case "String", "Error", "Unwrap", "Show":
			continue // words for people
		}
		key := d.folder + "." + d.full
		named := sourced(d.folder, d.full) || d.receiver != "" && sourced(d.folder, d.receiver)
		for _, m := range docLink.FindAllStringSubmatch(d.doc, -1) {
			named = named || sourced(d.folder, m[1])
		}
		_, exempt := withoutSource[key]
		used[key] = exempt
		switch {
		case named && exempt:
			t.Errorf("%s: %s names a source and need not stand in the list of those that have none", all.at(d.pos), key)
		case !named && !exempt:
			t.Errorf("%s: %s names no source: add a line \"Source:\" that gives publication, equation and whether it was seen, or says that it is ours and why it holds", all.at(d.pos), key)
		}
	}
	for key := range withoutSource {
		if !used[key] {
			t.Errorf("%s stands in the list of functions without a source, and there is no such function", key)
		}
	}
}
