package journal

import (
	"os"
	"strings"
	"testing"
)

// Every field that means something must be explained on the format's page.
func TestFormatPageNamesFields(t *testing.T) {
	page, err := os.ReadFile("../docs/journal-format.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range fieldNames {
		if !strings.Contains(string(page), "`"+name+"`") {
			t.Errorf("the page does not name the field %s", name)
		}
	}
}
