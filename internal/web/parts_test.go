package web

import (
	archive "archive/zip"
	"bytes"
	"encoding/csv"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"buttonup/journal"
)

// write sends a form as the page of a part does.
func (b *bench) write(job, key string, pairs ...string) int {
	form := url.Values{"token": {b.token}, "key": {"key-of-a-form-" + key}, "kind": {"part"}, "back": {"/"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return b.do("POST", jobPath(job, "write"), form).Code
}

func TestPartPagesSayWhatTheyMust(t *testing.T) {
	b := newBench(t, "mid-inspection", "clean-rebuild", "swapped-gasket")
	for _, c := range []struct {
		path           string
		wanted, absent []string
	}{
		{"/job/mid-inspection/parts", []string{"Wants a part", "Right main roller row", "last time: AV-1131-00 for 24.00, March 2026", "Order list", "data-scan-into"}, []string{"right_main", "slot."}},
		{"/job/mid-inspection/parts?q=qm+3105f", []string{"AV-3105-F", "marked 3105 F", "Quillmere Spares QM-3105-F", "Ostlow Engine Stores OS-3105-F", "looks like AV-3105-R and AV-3105-A but is not"}, nil},
		{"/job/mid-inspection/parts?q=zzz", []string{"0 parts for “zzz”", "Try fewer letters"}, nil},
		{"/job/swapped-gasket/parts/carrier_gasket_rear", []string{"AV-3105-F does not fit here", "It fills Lifter-carrier gasket, front, not Lifter-carrier gasket, rear", "The nearest that fits is AV-3105-R", "that do not fit, and why not", "Series: it needs A, and this engine is B", "received, lot G117"}, []string{"carrier_gasket_front,"}},
		{"/job/mid-inspection/parts/main_rollers", []string{"Last time", "AV-1131-00 for 24.00", "Diameter, measured in mm"}, nil},
		{"/job/mid-inspection/order", []string{"Cheapest", "Soonest", "Fewest orders", "GBP in ", "Look before you order", "13 fit, from 5 mm to 5.03 mm", "broken: Bore surface, rear, scratched", "always replaced"}, []string{"slot."}},
		{"/job/mid-inspection/order?refuse=AV-6131&refuse=HV-6131", []string{"This cannot all be had together", "Part AV-6131 is refused", "allow it"}, nil},
		{"/job/mid-inspection/shelf?lot=g117", []string{"On the shelf", "Lot g117"}, nil},
	} {
		page := b.get(c.path)
		contains(t, page, c.wanted...)
		lacks(t, page, c.absent...)
		if found := inline.FindString(page); found != "" {
			t.Errorf("%s has %q inside the page", c.path, found)
		}
	}
	for _, path := range []string{"/job/mid-inspection/parts/nothing", "/job/mid-inspection/order/Nobody.csv", "/job/none/parts"} {
		if w := b.do("GET", path, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s answers %d", path, w.Code)
		}
	}
	if w := b.do("GET", "/job/mid-inspection/order?without=Nobody", nil); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "no seller called Nobody") {
		t.Errorf("a seller that is not there: %d", w.Code)
	}
}

// A part through its life, as a builder writes it down: wanted, ordered, received and
// measured, rejected, another received and fitted, taken out, sent out and back.
func TestPartIsWrittenDown(t *testing.T) {
	b := newBench(t, "mid-inspection")
	const job = "mid-inspection"
	at := []string{"slot", "rocker_box_gasket", "place", "front"}
	step := func(key string, want int, more ...string) {
		t.Helper()
		before := b.events(job)
		if got := b.write(job, key, append(at[:4:4], more...)...); got != want {
			t.Fatalf("%v answers %d, want %d", more, got, want)
		}
		kept := b.events(job) - before
		if (want == http.StatusSeeOther) != (kept == 1) {
			t.Fatalf("%v: %d events were kept", more, kept)
		}
	}
	step("k1", http.StatusSeeOther, "state", "wanted", "part", "AV-5330-1")
	step("k2", http.StatusSeeOther, "state", "ordered", "part", "qm 5330-1", "to", "Quillmere Spares", "price", "3.50", "due", "2026-03-20")
	if p := b.last(job).Body.(journal.Part); p.Part != "AV-5330-1" || p.To != "Quillmere Spares" {
		t.Errorf("the seller's number gives %+v", p)
	}
	step("k3", http.StatusBadRequest, "state", "received", "part", "AV-5330-1", "sizes.box", "0.5 bar")
	step("k4", http.StatusBadRequest, "state", "received", "part", "AV-5330-1", "price", "3,50")
	step("k5", http.StatusBadRequest, "state", "rejected", "part", "AV-5330-1", "sizes.box", "0.80", "unit.box", "mm")
	step("k6", http.StatusSeeOther, "state", "rejected", "part", "AV-5330-1", "sizes.box", "0.80", "unit.box", "mm", "why", "it is the old thick one")
	page := b.get("/job/" + job + "/parts/rocker_box_gasket?place=front")
	contains(t, page, "rejected: it is the old thick one", "measured box 0.80 mm", "Wants 1 part: AV-5330-1 was rejected: it is the old thick one")
	step("k7", http.StatusSeeOther, "state", "received", "part", "AV-5330-1", "sizes.box", "0.51", "unit.box", "mm", "lot", "L 9")
	before := b.events(job)
	if code := b.write(job, "k7", append(at[:4:4], "state", "received", "part", "AV-5330-1", "sizes.box", "0.51", "unit.box", "mm", "lot", "L 9")...); code != http.StatusSeeOther || b.events(job) != before {
		t.Errorf("the same form twice: %d, %d events more", code, b.events(job)-before)
	}
}

func TestPartSentOutComesBack(t *testing.T) {
	b := newBench(t, "mid-inspection")
	const job = "mid-inspection"
	if code := b.write(job, "s1", "slot", "barrel_front", "place", "front", "state", "sent", "part", "AV-4101-F", "to", "Harbour Grinding", "asked", "bore to 92.25", "due", "2026-03-17"); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	contains(t, b.get("/job/"+job+"/parts"), "Sent out", "at Harbour Grinding: bore to 92.25; due 2026-03-17, overdue")
	contains(t, b.get("/job/"+job+"/parts/barrel_front?place=front"), "It is back", "Harbour Grinding")
	if code := b.write(job, "s2", "slot", "barrel_front", "place", "front", "state", "back", "part", "AV-4101-F", "price", "40.00", "why", "square within 0.01"); code != http.StatusSeeOther {
		t.Fatal(code)
	}
	lacks(t, b.get("/job/"+job+"/parts"), "Sent out")
	contains(t, b.get("/job/"+job+"/parts/barrel_front?place=front"), "back for 40.00: square within 0.01")
}

func TestOrderGoesToOtherPrograms(t *testing.T) {
	b := newBench(t, "mid-inspection")
	w := b.do("GET", "/job/mid-inspection/order/Ostlow%20Engine%20Stores.csv?prefer=cost", nil)
	if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Content-Disposition"), "attachment") {
		t.Fatal(w.Code, w.Header())
	}
	rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(w.Body.Bytes(), []byte("\ufeff")))).ReadAll()
	if err != nil || len(rows) < 4 || rows[0][0] != "Your number" || !strings.HasPrefix(rows[1][0], "OS-") || rows[len(rows)-1][1] != "Together" {
		t.Errorf("%v, %v", rows, err)
	}
	w = b.do("GET", "/job/mid-inspection/order/Ostlow%20Engine%20Stores.xlsx", nil)
	if _, err := archive.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len())); err != nil {
		t.Errorf("the workbook: %v", err)
	}
}

func TestTableOfPartsIsReadWholeOrNotAtAll(t *testing.T) {
	b := newBench(t, "mid-inspection")
	const job = "mid-inspection"
	send := func(table, key, keep string) (int, string) {
		t.Helper()
		w := b.do("POST", jobPath(job, "partstable"), url.Values{"token": {b.token}, "key": {"key-of-a-form-" + key}, "table": {table}, "keep": {keep}})
		return w.Code, w.Body.String()
	}
	good := "part,title,fills,seller,price,currency\nXX-1,Seal of mine,Left shaft seal,Market stall,4.20,GBP\n"
	before := b.events(job)
	code, page := send(good+"XX-2,Bad,No such place,,,\n", "t1", "")
	contains(t, page, "1 row understood, 1 refused", "The pack has no slot", "leave the others")
	if code != http.StatusOK || b.events(job) != before {
		t.Errorf("looking kept something: %d", code)
	}
	if code, _ := send(good+"XX-2,Bad,No such place,,,\n", "t2", "all"); code != http.StatusUnprocessableEntity || b.events(job) != before {
		t.Errorf("a table with a refused row was kept: %d", code)
	}
	if code, page := send("colour\nred\n", "t3", ""); code != http.StatusUnprocessableEntity || !strings.Contains(page, "No column holds the part numbers") {
		t.Errorf("no table: %d", code)
	}
	if code, page := send(good, "t4", "all"); code != http.StatusSeeOther || b.events(job) != before+1 {
		t.Fatalf("a good table: %d %s", code, page)
	}
	contains(t, b.get("/job/"+job+"/parts/left_seal"), "XX-1", "Seal of mine", "Market stall: 4.20 GBP")
}
