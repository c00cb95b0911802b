package journal

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"
)

// Values by the names they have in the public JSON parsing test suite
// (github.com/nst/JSONTestSuite, folder test_parsing; names and contents from
// memory, a handful seen as restated by other libraries). y_ must be taken, n_ refused. Each
// is put into a line as the value of a field that means nothing.
const suite = `
y_number -0
y_number_0e+1 [0e+1]
y_number_0e1 [0e1]
y_number_double_close_to_zero [-0.000000000000000000000000000000000000000000000000000000000000000000000000000001]
y_number_int_with_exp [20e1]
y_number_minus_zero [-0]
y_number_real_capital_e_neg_exp [1E-2]
y_number_real_fraction_exponent [123.456e78]
y_object_basic {"asd":"sdf"}
y_object_empty {}
y_object_empty_key {"":0}
y_object_escaped_null_in_key {"foo\u0000bar": 42}
y_string_1_2_3_bytes_UTF-8_sequences ["\u0060\u012a\u12AB"]
y_string_accepted_surrogate_pair ["\uD801\udc37"]
y_string_allowed_escapes ["\"\\\/\b\f\n\r\t"]
y_string_backslash_doublequotes ["\""]
y_string_double_escape_a ["\\a"]
y_string_nonCharacterInUTF-8_U+FFFF ["￿"]
y_structure_whitespace_array  [] 
y_array_with_several_null [1,null,null,null,2]
i_string_1st_surrogate_but_2nd_missing ["\uDADA"]
n_array_1_true_without_comma [1 true]
n_array_colon_instead_of_comma ["": 1]
n_array_comma_after_close [""],
n_array_double_comma [1,,2]
n_array_extra_comma ["",]
n_array_inner_array_no_comma [3[4]]
n_array_just_comma [,]
n_array_unclosed_trailing_comma [1,
n_incomplete_false [fals]
n_incomplete_null [nul]
n_number_++ [++1234]
n_number_+1 [+1]
n_number_-01 [-01]
n_number_-2. [-2.]
n_number_-NaN [-NaN]
n_number_.-1 [.-1]
n_number_0.1.2 [0.1.2]
n_number_0.e1 [0.e1]
n_number_0_capital_E+ [0E+]
n_number_1.0e [1.0e]
n_number_1_000 [1 000]
n_number_2.e3 [2.e3]
n_number_hex_1_digit [0x1]
n_number_infinity [Infinity]
n_number_minus_space_1 [- 1]
n_number_neg_int_starting_with_zero [-012]
n_number_with_leading_zero [012]
n_number_-00.0 [-00.0]
n_number_00e0 [00e0]
n_number_invalid-negative-real [-123.123foo]
n_object_bad_value ["x", truth]
n_object_comma_instead_of_colon {"x", null}
n_object_double_colon {"x"::"b"}
n_object_missing_key {:"b"}
n_object_missing_value {"a":
n_object_no-colon {"a"
n_object_non_string_key {1:1}
n_object_single_quote {'a':0}
n_object_trailing_comma {"id":0,}
n_object_trailing_comment {"a":"b"}/**/
n_object_two_commas_in_a_row {"a":"b",,"c":"d"}
n_object_unquoted_key {a: "b"}
n_string_escape_x ["\x00"]
n_string_escaped_ctrl_char_tab ["\	"]
n_string_incomplete_escape ["\"]
n_string_incomplete_escaped_character ["\u00A"]
n_string_incomplete_surrogate ["\uD834\uDd"]
n_string_invalid-utf-8-in-escape-like ["\u000g"]
n_string_octal_escape ["\012"]
n_string_single_quote ['single quote']
n_string_unescaped_tab ["	"]
n_string_unicode_CapitalU "\UA66D"
n_structure_ascii-unicode-identifier aå
n_structure_capitalized_True [True]
n_structure_close_unopened_array 1]
n_structure_double_array [][]
n_structure_number_with_trailing_garbage 2@
n_structure_object_with_comment {"a":/*comment*/"b"}
n_structure_open_object_comma {,
n_structure_trailing_# {"a":"b"}#{}
n_structure_unclosed_object {"asd":"asd"
`

func TestScannerOnPublicSuite(t *testing.T) {
	rows := strings.Split(strings.TrimSpace(suite), "\n")
	rows = append(rows, // what an editor would not keep
		"n_structure_whitespace_formfeed [\f]",
		"n_structure_null-byte-outside-string [\x00]",
		"y_string_unescaped_char_delete [\"\x7f\"]",
		"n_array_newlines_unclosed [\"a\",\n4\n,1,")
	for _, row := range rows {
		name, value, _ := strings.Cut(row, " ")
		text := `{"x":` + value + `}`
		var sc scanner
		detail := sc.scan(text)
		if taken := detail == ""; taken != (name[0] != 'n') {
			t.Errorf("%s: %s: %q", name, text, detail)
		}
		// The standard library must agree, or the row is wrong.
		if json.Valid([]byte(text)) != (name[0] != 'n') {
			t.Errorf("%s: encoding/json disagrees with the row", name)
		}
	}
	// Taken by the suite and refused here on purpose.
	for _, text := range []string{`{"a":"b","a":"c"}`, `{"x":{"a":"b","a":"c"}}`} {
		var sc scanner
		if detail := sc.scan(text); !strings.Contains(detail, `"a" stands twice`) {
			t.Errorf("%s: %q", text, detail)
		}
	}
}

// Two ways: on texts made of JSON's own symbols the scanner takes exactly what
// encoding/json takes, except names twice and deep nesting.
func TestScannerAgainstStandardLibrary(t *testing.T) {
	rng := rand.New(rand.NewPCG(8259, 1))
	pieces := []string{`{`, `}`, `[`, `]`, `,`, `:`, `"`, `"a"`, `"b":`, `"c":`, `"of":`, `1`, `0`, `-`, `.5`, `e3`, `E+`, `true`, `null`, `fals`,
		`\`, `\n`, `\u00e9`, ` `, "\t", `é`, `{"d":1}`, `[1,2]`}
	taken := 0
	for range 100_000 {
		var b strings.Builder
		b.WriteString(`{"x":`)
		for range rng.IntN(8) {
			b.WriteString(pieces[rng.IntN(len(pieces))])
		}
		if rng.IntN(4) > 0 {
			b.WriteByte('}')
		}
		text := b.String()
		var sc scanner
		detail := sc.scan(text)
		if strings.Contains(detail, "stands twice") {
			continue
		}
		if detail == "" {
			taken++
		}
		if (detail == "") != json.Valid([]byte(text)) {
			t.Fatalf("%s: %q, encoding/json says valid %v", text, detail, json.Valid([]byte(text)))
		}
	}
	if taken < 1000 {
		t.Errorf("only %d texts were taken: the test has lost its sense", taken)
	}
}

// The table of names and the look-up must say the same.
func TestFieldNames(t *testing.T) {
	for f := range fieldsEnd {
		got, ok := lookupField(fieldNames[f])
		if !ok || got != f {
			t.Errorf("field %d has the name %q, which is looked up as %d, %v", f, fieldNames[f], got, ok)
		}
	}
	if _, ok := lookupField("Of"); ok {
		t.Error("names are case-sensitive, but Of is taken for of")
	}
}

// Many names in one object must not cost more than in proportion, nor escape the
// notice of a double.
func TestManyNames(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"x":{`)
	for i := range 100_000 {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(`"`)
		for n := i; n > 0; n /= 26 {
			b.WriteByte(byte('a' + n%26))
		}
		b.WriteString(`":1`)
	}
	var sc scanner
	if detail := sc.scan(b.String() + `}}`); detail != "" {
		t.Errorf("100,000 names: %s", detail)
	}
	if detail := sc.scan(b.String() + `,"bcd":1}}`); detail != `the name "bcd" stands twice` {
		t.Errorf("a name twice among 100,000: %q", detail)
	}
}
