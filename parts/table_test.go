package parts

import (
	"strings"
	"testing"

	"buttonup/pack"
)

func TestReadTable(t *testing.T) {
	p := benchPack(t).Pack()
	table, err := ReadTable([]byte("\ufeffPart;Description;Fills;Seller;Order no;Price;Currency;Lead;Fits;Has;Colour\n"+
		"N-1;New gasket;Carrier gasket;Quillmere Spares;QM-1;3.10;GBP;5;\"feed == \"\"two\"\"\";thin | blue;red\n"+ // 2
		"N-2;Spring;spring;Quillmere Spares;QM-2;4,20;GBP;5;;;\n"+ // 3: a comma
		"N-3;What;sprung;;;;;;;;\n"+ // 4: no such slot
		"N-4;Shim;shim;;;;;;\"feeed == \"\"two\"\"\";;\n"+ // 5: a mistake in the condition
		"G-2;;;Ostlow;OS-2;2.95;;;;;\n"+ // 6: an offer for a part that is there
		"G-3;Something else;;Ostlow;OS-3;2.95;;;;;\n"+ // 7: another part of the same number
		"N-1;;;Ostlow;OS-1;3.00;;;;;\n"+ // 8: a second offer for a new part
		"N-1;;;Ostlow;OS-9;3.00;;;;;\n"+ // 9: the same offer again
		"N-5;=1+1;shim;;;;;;;;\n"+ // 10: a formula
		";;;;;;;;;;\n"+
		"N-6;Plain;shim;;;;;;;;\n"+ // 12
		"N-6;Plain;shim;;;;;;;;\n"+ // 13: again, with nothing new
		"N-7;Price alone;shim;;;1.00;;;;;\n"), p)
	if err != nil {
		t.Fatal(err)
	}
	want := map[int]string{2: "", 3: "no amount of money", 4: `perhaps "spring"`, 5: "feeed", 6: "", 7: "another part", 8: "", 9: "in line 8 already",
		10: "formula", 12: "", 13: "nothing new", 14: "no seller"}
	for _, r := range table.Rows {
		says, known := want[r.Line]
		delete(want, r.Line)
		switch {
		case !known:
			t.Errorf("line %d was not expected", r.Line)
		case says == "" && !r.Taken():
			t.Errorf("line %d is refused: %q", r.Line, r.Refused)
		case says == "" && len(r.Understood) == 0:
			t.Errorf("line %d is taken, and not said what of it", r.Line)
		case says != "" && (r.Taken() || !strings.Contains(strings.Join(r.Refused, "; "), says)):
			t.Errorf("line %d: %q, want %q", r.Line, r.Refused, says)
		case says != "" && len(r.Understood) > 0:
			t.Errorf("line %d is refused and half taken: %q", r.Line, r.Understood)
		}
	}
	if len(want) > 0 {
		t.Errorf("nothing is said of the lines %v", want)
	}
	if len(table.Notes) != 1 || !strings.Contains(table.Notes[0], "Colour") {
		t.Errorf("of the columns it says %q", table.Notes)
	}
	q, mistakes := p.Extend(pack.File{Name: "table", Text: table.Text})
	if len(mistakes) > 0 {
		t.Fatal(mistakes)
	}
	c := NewCatalogue(q)
	if x := c.Part("N-1"); x == nil || x.Title != "New gasket" || len(x.Has) != 2 || x.Fits == nil || len(c.Offers("N-1")) != 2 {
		t.Errorf("N-1 is %+v with %d offers", x, len(c.Offers("N-1")))
	}
	if o := c.Offers("N-1")[0]; o.Price != "3.10" || o.Currency != "GBP" || o.Lead != 5*86400 || o.Number != "QM-1" {
		t.Errorf("the offer is %+v", o)
	}
	for _, id := range []string{"N-2", "N-3", "N-4", "N-5", "N-7"} {
		if c.Part(id) != nil {
			t.Errorf("%s was refused and is there", id)
		}
	}
	for _, text := range []string{"", "\n", "colour\nred\n", "part,part no\nA,B\n", "part,title\n\"A\n"} {
		if _, err := ReadTable([]byte(text), p); err == nil {
			t.Errorf("%q is taken for a table", text)
		}
	}
}

// A law: what a table gives extends the pack whatever its cells hold, and a row is
// taken whole or not at all.
func FuzzReadTable(f *testing.F) {
	p, _ := pack.Load([]pack.File{{Name: "bench.pack", Text: []byte(bench)}}, nil)
	f.Add("part,title,fills,supplier,price\nN-1,${x},shim,Q,1.00\n")
	f.Add("part;fills;sizes\n\\;shim;a=1 mm|a=2 mm\n\"a\"\"b\";shim;\n")
	f.Add("part,fits,fills\nx,\"feed } part \"\"y\"\" {\",shim\nz,,shim\n")
	f.Fuzz(func(t *testing.T, text string) {
		table, err := ReadTable([]byte(text), p)
		if err != nil {
			return
		}
		if _, mistakes := p.Extend(pack.File{Name: "t", Text: table.Text}); len(mistakes) > 0 {
			t.Fatalf("%q gives %s: %v", text, table.Text, mistakes[0])
		}
		for _, r := range table.Rows {
			if r.Taken() == (len(r.Understood) == 0) {
				t.Errorf("line %d: understood %q, refused %q", r.Line, r.Understood, r.Refused)
			}
		}
	})
}

func TestMoney(t *testing.T) {
	for _, c := range []struct{ text, of, want string }{
		{"18.40", "GBP", "18.40 GBP"}, {"18.4", "", "18.40"}, {"18", "", "18.00"}, {"18.40 EUR", "", "18.40 EUR"}, {"0.05", "", "0.05"},
		{"18,40", "", ""}, {"£18.40", "", ""}, {"18.405", "", ""}, {"-1.00", "", ""}, {"1 200.00", "", ""}, {"18.40 EUR", "GBP", ""}, {"", "", ""}, {"1e3", "", ""},
	} {
		m, err := ParseMoney(c.text, c.of)
		if got := m.String(); (err == nil) != (c.want != "") || err == nil && got != c.want {
			t.Errorf("%q in %q: %q, %v", c.text, c.of, got, err)
		}
	}
	sum := Money{}
	ten, _ := ParseMoney("0.10", "")
	for range 10 {
		sum.Hundredths += ten.Hundredths
	}
	if sum.Amount() != "1.00" {
		t.Errorf("ten times 0.10 is %s", sum.Amount())
	}
}
