package cli

import (
	"errors"
	"fmt"
	"os"
	"regexp"
	"strings"

	"github.com/alecthomas/kong"
)

// takeJSON takes --json out of the arguments, wherever it stands, so that errors of
// the command line itself are JSON too.
func takeJSON(args []string) (rest []string, wanted bool) {
	for i, s := range args {
		if s == "--" {
			return append(rest, args[i:]...), wanted
		}
		if s == "--json" || s == "--json=true" {
			wanted = true
			continue
		}
		rest = append(rest, s)
	}
	return rest, wanted
}

// asCommands understands what people type to other programs: no arguments, "help",
// "help COMMAND" and "--version".
func asCommands(args []string) []string {
	switch {
	case len(args) == 0 && startedByDoubleClick():
		return []string{"serve", "--open"}
	case len(args) == 0:
		return []string{"--help"}
	case args[0] == "help":
		return append(append([]string(nil), args[1:]...), "--help")
	case len(args) == 1 && (args[0] == "--version" || args[0] == "-v" || args[0] == "-V"):
		return []string{"version"}
	}
	return args
}

// emptyArgument refuses an argument without a character: it is mostly a variable of
// the shell that is not set, and an empty journal must not pass for the job's.
func emptyArgument(args []string) error {
	for i, s := range args {
		if s == "--" {
			return nil
		}
		flag, value, given := strings.Cut(s, "=")
		switch {
		case s == "" && i > 0 && strings.HasPrefix(args[i-1], "--") && !strings.Contains(args[i-1], "="):
			flag = args[i-1]
		case s == "":
			return misused("", "leave it out; a variable of the shell that is not set leaves one, perhaps", "one of the arguments is empty")
		case strings.HasPrefix(flag, "--") && given && value == "":
		default:
			continue
		}
		return misused(flag, "give it a value, or leave it out; a variable of the shell may not be set", "%s is empty", flag)
	}
	return nil
}

// The complaints of the parser that are said in our own words.
var (
	strayWord     = regexp.MustCompile(`^unexpected argument (.*?)(?:, did you mean (?:one of )?(.*)\?)?$`)
	strayFlag     = regexp.MustCompile(`^unknown flag (\S+?)(?:, did you mean (?:one of )?(.*)\?)?$`)
	missingFlags  = regexp.MustCompile(`^missing flags: (--[a-z-]+)=?(\S*)`)
	missingWord   = regexp.MustCompile(`^expected (?:one of )?(".*")$`)
	missingValue  = regexp.MustCompile(`^(--[a-z-]+).*(?:missing value|expected \S+ value but got)`)
	unwantedValue = regexp.MustCompile(`^(?:--)?([a-z-]+).*bool value must be`)
)

// usageError turns the parser's complaint into a sentence with what to do.
func usageError(err error, args []string) error {
	var node *kong.Node
	var pe *kong.ParseError
	if errors.As(err, &pe) && pe.Context != nil {
		node = pe.Context.Selected()
	}
	command, help := "buttonup", "buttonup --help lists the commands"
	if node != nil {
		command = strings.TrimPrefix(node.FullPath(), "buttonup ")
		help = "buttonup " + command + " --help tells how to use it"
	}
	says := err.Error()
	if m := strayWord.FindStringSubmatch(says); m != nil {
		near := strings.Trim(m[2], `"`)
		if node == nil && near == "" && pe != nil && pe.Context != nil {
			for _, c := range pe.Context.Model.Children {
				if strings.EqualFold(c.Name, m[1]) {
					near = c.Name
				}
			}
		}
		return stray(node, command, m[1], near, args)
	}
	if m := strayFlag.FindStringSubmatch(says); m != nil {
		if command == "calc" {
			return misused(m[1], "arguments of calc are written without dashes: buttonup calc convert 'value=25.4 mm' to=in", "calc has no flag %s", m[1])
		}
		if long := oneDash(args, m[1]); long != "" {
			return misused(long, "a flag has two dashes: -"+long+"; "+help, "%s has no flag %s", command, long)
		}
		near := m[2]
		if near == "" {
			near = sameLetters(node, m[1])
		}
		return misused(m[1], meant(near)+help, "%s has no flag %s", command, m[1])
	}
	if m := missingFlags.FindStringSubmatch(says); m != nil {
		return misused(m[1], strings.TrimSpace(fmt.Sprintf("buttonup %s %s %s", command, m[1], m[2]))+"; "+help, "%s needs %s", command, m[1])
	}
	if m := missingWord.FindStringSubmatch(says); m != nil {
		if names := strings.ReplaceAll(m[1], `"`, ""); strings.HasPrefix(names, "<") && node != nil {
			name := strings.ToUpper(strings.Trim(names, "<>"))
			return misused(name, fmt.Sprintf("buttonup %s %s; %s", command, name, help), "%s needs %s: %s", command, name, meaning(node))
		}
		return misused("", help, "%s needs one of these words: %s", command, strings.ReplaceAll(m[1], `"`, ""))
	}
	if m := missingValue.FindStringSubmatch(says); m != nil {
		return misused(m[1], fmt.Sprintf("write %s and then its value; %s", m[1], help), "%s stands without a value", m[1])
	}
	if m := unwantedValue.FindStringSubmatch(says); m != nil {
		return misused("--"+m[1], "write --"+m[1]+" alone, or leave it out", "--%s is a switch and takes no value", m[1])
	}
	return misused("", help, "%s", says)
}

// oneDash finds the word that was written with one dash where a flag has two; the
// parser names only its first letter.
func oneDash(args []string, letter string) string {
	for _, s := range args {
		if len(letter) == 2 && len(s) > 2 && strings.HasPrefix(s, letter) {
			word, _, _ := strings.Cut(s, "=")
			return word
		}
	}
	return ""
}

// sameLetters finds the flag that differs from a word in capitals only.
func sameLetters(node *kong.Node, word string) string {
	if node == nil {
		return ""
	}
	for _, f := range node.Flags {
		if strings.EqualFold("--"+f.Name, word) {
			return "--" + f.Name
		}
	}
	return ""
}

// meant offers the nearest name.
func meant(near string) string {
	if near == "" {
		return ""
	}
	return "perhaps " + strings.ReplaceAll(near, `"`, "") + " is meant; "
}

// meaning says what the first argument of a command is.
func meaning(node *kong.Node) string {
	if len(node.Positional) == 0 || node.Positional[0].Help == "" {
		return "it is missing"
	}
	text := strings.TrimSuffix(node.Positional[0].Help, ".")
	return strings.ToLower(text[:1]) + text[1:]
}

// stray says what is wrong with a word that has no place in the command line.
func stray(node *kong.Node, command, word, near string, args []string) error {
	if node == nil {
		return misused(word, meant(near)+"buttonup --help lists the commands", "there is no command %s", word)
	}
	help := "buttonup " + command + " --help tells how to use it"
	if name := strings.TrimLeft(word, "–—-/"); name != word && takes(node, strings.SplitN(name, "=", 2)[0]) {
		return misused(word, "a flag begins with two plain dashes: --"+name, "%s has no flag %s", command, word)
	}
	if len(node.Children) > 0 {
		return misused(word, meant(near)+help, "%s has no command %s", command, word)
	}
	at := len(args)
	for i, s := range args {
		if s == word {
			at = i
		}
	}
	if fix := requoted(args, at); fix != "" {
		return misused(word, "put a value that holds blanks in quotes: "+fix, "%s stands alone: a blank in a value without quotes parted it", word)
	}
	switch natureOfFile(word) {
	case aPack:
		if takes(node, "pack") {
			return misused(word, "name a pack with a flag: --pack "+shellWord(word), "%s has no place here", word)
		}
	case aJournal:
		if takes(node, "journal") {
			return misused(word, "name a journal with a flag: --journal "+shellWord(word), "%s has no place here", word)
		}
	case aTable:
		if takes(node, "csv") {
			return misused(word, "name a table of readings with a flag: --csv "+shellWord(word), "%s has no place here", word)
		}
	}
	if len(node.Positional) > 0 {
		return misused(word, "give one at a time, and a name that holds blanks in quotes; "+help, "%s takes no second argument, and %s is one", command, word)
	}
	return misused(word, help, "%s takes flags only, and %s is none", command, word)
}

func takes(node *kong.Node, flag string) bool {
	for _, f := range node.Flags {
		if f.Name == flag {
			return true
		}
	}
	return false
}

// requoted writes a flag or a name whose value was parted at its blanks as it was
// meant; "" when that is not what went wrong.
func requoted(args []string, at int) string {
	if at == 0 || at >= len(args) || strings.HasPrefix(args[at], "-") {
		return ""
	}
	from := at - 1
	for from > 0 && !strings.HasPrefix(args[from], "-") && !strings.HasPrefix(args[from-1], "-") {
		from--
	}
	to := at + 1
	for to < len(args) && !strings.HasPrefix(args[to], "-") {
		to++
	}
	value := strings.Join(args[from:to], " ")
	flag, inside, joined := strings.Cut(args[from], "=")
	switch {
	case strings.HasPrefix(args[from], "--") && joined:
		value = strings.Join(append([]string{inside}, args[from+1:to]...), " ")
	case from > 0 && strings.HasPrefix(args[from-1], "--") && !strings.Contains(args[from-1], "="):
		flag = args[from-1]
	default:
		return partedName(args, at)
	}
	if flag != "--set" && !exists(value) && natureOfFile(args[at]) != unknown {
		return "" // a second file, not the rest of a name
	}
	return flag + " " + shellWord(strings.Trim(value, `'"`))
}

// partedName finds the name of a file that was parted at its blanks; only a file of
// that name proves it.
func partedName(args []string, at int) string {
	for from := 0; from < at; from++ {
		for to := len(args); to > at; to-- {
			if name := strings.Join(args[from:to], " "); exists(name) {
				return shellWord(name)
			}
		}
	}
	return ""
}

func exists(name string) bool {
	_, err := os.Stat(name)
	return err == nil
}

// shellWord writes a word as a shell reads it back.
func shellWord(s string) string {
	if s != "" && !strings.ContainsFunc(s, func(r rune) bool {
		return !(r == '-' || r == '_' || r == '.' || r == '/' || r == ':' || r == '=' || r == '+' || r == '~' || r == ',' || r == '\\' ||
			'0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || r > 127 && r != '“' && r != '”')
	}) {
		return s
	}
	if !strings.Contains(s, `"`) && !strings.ContainsAny(s, "$`\\!") {
		return `"` + s + `"`
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}
