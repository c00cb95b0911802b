package pack

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"buttonup/formula"
	"buttonup/measure"
	"buttonup/pack/syntax"
)

// Finder looks a template up by its ID and returns its files.
type Finder func(id string) ([]File, bool)

// loader carries one loading: the merged blocks in, the pack and the mistakes out.
type loader struct {
	pack     *Pack
	mistakes Mistakes
	things   map[string]*formula.Thing
	places   formula.Places
	// declared holds the merged blocks by kind and name.
	declared  map[string]map[string]*syntax.Block
	functions map[string]*formula.Function
	// misread holds the names of blocks whose kind is misspelt: they were reported,
	// and what names them must not be reported too.
	misread map[string]bool
	// forJob is set for text that only one job needs, whose options are chosen: a
	// limit need not suit the others.
	forJob bool
	// loosePlace is set while a block is read whose place has a mistake.
	loosePlace bool
	// unsureParts and unsureOrder are set where a mistake leaves open what parts
	// fill and have, and what operations need, open and close.
	unsureParts, unsureOrder bool
}

// mostCollected bounds how many mistakes are gathered before they are sorted and
// the first of each file are kept.
const mostCollected = 5 * syntax.MostMistakes

func (l *loader) add(code string, span syntax.Span, says, do string) {
	if len(l.mistakes) < mostCollected {
		l.mistakes = append(l.mistakes, Mistake{Code: code, Span: span, Says: says, Do: do})
	}
}

// full reports whether so much is wrong that looking further helps nobody.
func (l *loader) full() bool { return len(l.mistakes) >= mostCollected }

// lost reports whether a block has lost one of the attributes to a mistake in its
// text.
func lost(b *syntax.Block, names ...string) bool {
	if len(b.Lost) == 0 {
		return false
	}
	for _, n := range names {
		if b.Lost[n] {
			return true
		}
	}
	return b.Lost["*"]
}

// Load reads a pack from its files, taken in name order. A folder that holds a pack
// and its template is read as the pack that extends. With mistakes, the pack that
// is returned holds what could be read and must not be assessed.
func Load(files []File, find Finder) (*Pack, Mistakes) {
	files = slices.Clone(files)
	slices.SortStableFunc(files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	l := &loader{}
	var all []*syntax.Block
	owner := map[*syntax.Block]string{}
	for _, f := range files {
		blocks, mistakes := syntax.Parse(f, Kinds)
		l.mistakes = append(l.mistakes, mistakes...)
		for _, b := range blocks {
			owner[b] = f.Name
		}
		all = append(all, blocks...)
	}
	refused := slices.ContainsFunc(l.mistakes, func(m Mistake) bool {
		return m.Code == "syntax.too-large" || m.Code == "syntax.not-text" || m.Code == "syntax.too-deep"
	})
	readable := len(l.mistakes)
	own, template := l.layers(files, all, owner)
	used := files
	if header := packBlock(own); header != nil && template == nil {
		if a := header.Attribute("extends"); a != nil {
			var more []File
			template, more = l.template(a, find)
			used = append(used, more...)
		}
	}
	merged := l.merge(l.layer(template), own)
	p := l.build(merged, used)
	if refused {
		// A file is missing whole: what hangs on it would be told as missing too.
		l.mistakes = l.mistakes[:readable]
	}
	l.finish(used)
	p.Remarks.Illustrate(used)
	return p, l.mistakes
}

// Extend merges a piece of pack text over the pack, as a job does for what only
// this engine needs. On mistakes the pack itself is unchanged and nil is returned.
func (p *Pack) Extend(f File) (*Pack, Mistakes) {
	l := &loader{forJob: true}
	blocks, mistakes := syntax.Parse(f, Kinds)
	l.mistakes = mistakes
	merged := l.merge(p.blocks, blocks)
	q := l.build(merged, append(slices.Clone(p.Files), f))
	l.finish(q.Files)
	if len(l.mistakes) > 0 {
		return nil, l.mistakes
	}
	// The pack keeps the hash of its own text: extras belong to the job.
	q.SHA256 = p.SHA256
	return q, nil
}

// finish brings the mistakes into the order of the source and shows their lines.
func (l *loader) finish(files []File) {
	l.mistakes.Sort()
	l.mistakes.Shorten()
	l.mistakes.Illustrate(files)
}

func packBlock(blocks []*syntax.Block) *syntax.Block {
	for _, b := range blocks {
		if b.Kind == "pack" {
			return b
		}
	}
	return nil
}

// layers divides the blocks of one folder between a pack and a template that lies
// beside it. The template's files are those that hold its pack block; every other
// file belongs to the pack.
func (l *loader) layers(files []File, all []*syntax.Block, owner map[*syntax.Block]string) (own, template []*syntax.Block) {
	var headers []*syntax.Block
	for _, b := range all {
		if b.Kind == "pack" {
			headers = append(headers, b)
		}
	}
	if len(headers) == 0 {
		span := syntax.Span{Line: 1, Column: 1}
		if len(files) > 0 {
			span.File = files[0].Name
		}
		if len(all) > 0 {
			span = all[0].Span
		}
		misspelt := slices.ContainsFunc(all, func(b *syntax.Block) bool { return !Kinds[b.Kind] && formula.Nearest(b.Kind, kindNames()) == "pack" })
		if (len(l.mistakes) == 0 || len(all) > 0) && !misspelt {
			l.add("pack.no-header", span, "the files hold no pack block", `begin with pack "ID" { title = "what engines it is for" }`)
		}
		return all, nil
	}
	var child *syntax.Block
	for _, h := range headers {
		if id, ok := textOf(h, "extends"); ok {
			for _, t := range headers {
				if t != h && t.Name() == id {
					child = h
				}
			}
		}
	}
	if child == nil {
		for _, h := range headers[1:] {
			l.add("pack.twice", h.Span, fmt.Sprintf("there is a second pack block; the first is %q at %s", headers[0].Name(), headers[0].Span), "keep packs in files or folders of their own")
		}
		return all, nil
	}
	id, _ := textOf(child, "extends")
	for _, h := range headers {
		if h.Name() != id && h != child {
			l.add("pack.twice", h.Span, fmt.Sprintf("there is a third pack block; the pack read here is %q", child.Name()), "keep packs in files or folders of their own")
		}
	}
	for _, h := range headers {
		if h.Name() == id && h != child && owner[h] == owner[child] {
			l.add("pack.twice", h.Span, fmt.Sprintf("the template %q stands in the file of the pack that extends it", id), "give the template a file of its own")
			return all, []*syntax.Block{}
		}
	}
	for _, b := range all {
		from := owner[b]
		isTemplate := false
		for _, h := range headers {
			isTemplate = isTemplate || h.Name() == id && owner[h] == from && owner[child] != from
		}
		if isTemplate {
			template = append(template, b)
		} else {
			own = append(own, b)
		}
	}
	return own, template
}

func textOf(b *syntax.Block, name string) (string, bool) {
	if a := b.Attribute(name); a != nil {
		if t, ok := a.Value.(*syntax.Text); ok {
			return t.Value, true
		}
	}
	return "", false
}

func (l *loader) template(a *syntax.Attribute, find Finder) ([]*syntax.Block, []File) {
	t, ok := a.Value.(*syntax.Text)
	if !ok {
		return nil, nil // reported when the header is read
	}
	var files []File
	if find != nil {
		files, ok = find(t.Value)
	}
	if find == nil || !ok {
		l.add("pack.no-template", t.Span, fmt.Sprintf("there is no template %q beside this pack or among those that the program carries", t.Value), "put the template's file beside the pack, or correct the ID")
		return nil, nil
	}
	var blocks []*syntax.Block
	for _, f := range files {
		b, mistakes := syntax.Parse(f, Kinds)
		l.mistakes = append(l.mistakes, mistakes...)
		blocks = append(blocks, b...)
	}
	if h := packBlock(blocks); h != nil && h.Attribute("extends") != nil {
		l.add("pack.no-template", t.Span, fmt.Sprintf("the template %q extends another template, and one level is allowed", t.Value), "extend the other template itself, or copy what is needed")
	}
	return blocks, files
}

// layer checks that no name is declared twice in one layer, or again by another kind
// over a template, and returns the blocks without those that are.
func (l *loader) layer(blocks []*syntax.Block) []*syntax.Block {
	var kept []*syntax.Block
	first := map[string]*syntax.Block{}
	for _, b := range blocks {
		if b.Kind == "offer" || len(b.Labels) == 0 || b.Kind == "pack" {
			kept = append(kept, b)
			continue
		}
		key := b.Kind + "." + b.Name()
		if shared[b.Kind] {
			key = b.Name()
		}
		before, ok := first[key]
		switch {
		case !ok:
			first[key] = b
			kept = append(kept, b)
		case before.Kind != b.Kind:
			l.add("pack.twice", b.Labels[0].Span, fmt.Sprintf("%s %q has the name of the %s at %s", b.Kind, b.Name(), before.Kind, before.Span), "rename one of the two: formulas could not tell them apart")
		default:
			l.add("pack.twice", b.Labels[0].Span, fmt.Sprintf("%s %q is declared a second time; the first stands at %s", b.Kind, b.Name(), before.Span), "rename one of the two, or join them")
		}
	}
	return kept
}

// shared are the kinds whose names share one name space, because formulas name
// them.
var shared = map[string]bool{"dimension": true, "number": true, "sweep": true, "option": true, "curve": true, "slot": true}

// merge lays blocks over a base: a block of the same kind and name replaces the
// attributes it names, a nested kind replaces all of that kind, remove drops.
func (l *loader) merge(base, over []*syntax.Block) []*syntax.Block {
	over = l.layer(over)
	merged := slices.Clone(base)
	index := map[string]int{}
	for i, b := range merged {
		if mergeable(b) {
			index[mergeKey(b)] = i
		}
	}
	for _, b := range over {
		i, exists := index[mergeKey(b)]
		exists = exists && mergeable(b)
		if a := b.Attribute("remove"); a != nil {
			v, ok := a.Value.(*syntax.Bool)
			switch {
			case !ok:
				l.wrong(a, "true or false", "true")
			case v.Value && !exists:
				l.add("pack.remove", b.Span, fmt.Sprintf("there is no %s %q to remove", b.Kind, b.Name()), "correct the name, or leave the block out")
				continue
			case v.Value:
				merged[i] = nil
				delete(index, mergeKey(b))
				continue
			}
		}
		if !exists {
			if mergeable(b) {
				index[mergeKey(b)] = len(merged)
			}
			merged = append(merged, b)
			continue
		}
		merged[i] = overlay(merged[i], b)
	}
	return slices.DeleteFunc(merged, func(b *syntax.Block) bool { return b == nil })
}

// mergeable reports whether a block has a name under which another can replace it.
func mergeable(b *syntax.Block) bool {
	return b.Kind == "pack" || b.Kind != "offer" && len(b.Labels) > 0
}

func mergeKey(b *syntax.Block) string {
	if b.Kind == "pack" {
		return "pack"
	}
	return b.Kind + "." + b.Name()
}

func overlay(base, over *syntax.Block) *syntax.Block {
	out := &syntax.Block{Kind: base.Kind, Labels: over.Labels, Span: over.Span, Lost: map[string]bool{}}
	for _, lost := range []map[string]bool{base.Lost, over.Lost} {
		for name := range lost {
			out.Lost[name] = true
		}
	}
	for _, a := range base.Attributes {
		switch {
		case over.Attribute(a.Name) != nil:
			out.Attributes = append(out.Attributes, over.Attribute(a.Name))
		case a.Name == "blank" && over.Attribute("blank") == nil:
			out.Attributes = append(out.Attributes, stillBlank(a, over))
		default:
			out.Attributes = append(out.Attributes, a)
		}
	}
	for _, a := range over.Attributes {
		if base.Attribute(a.Name) == nil && a.Name != "remove" {
			out.Attributes = append(out.Attributes, a)
		}
	}
	replaced := map[string]bool{}
	for _, n := range over.Blocks {
		replaced[n.Kind] = true
	}
	for _, n := range base.Blocks {
		if !replaced[n.Kind] {
			out.Blocks = append(out.Blocks, n)
		}
	}
	out.Blocks = append(out.Blocks, over.Blocks...)
	return out
}

// stillBlank drops the blanks that an overlay fills.
func stillBlank(a *syntax.Attribute, over *syntax.Block) *syntax.Attribute {
	list, ok := a.Value.(*syntax.List)
	if !ok {
		return a
	}
	left := &syntax.List{Span: list.Span}
	for _, e := range list.Items {
		if t, ok := e.(*syntax.Text); ok && over.Attribute(t.Value) != nil {
			continue
		}
		left.Items = append(left.Items, e)
	}
	return &syntax.Attribute{Name: a.Name, Span: a.Span, Value: left}
}

// build decodes and checks the merged blocks.
func (l *loader) build(blocks []*syntax.Block, files []File) *Pack {
	l.pack = &Pack{Room: measure.DefaultRoom, Files: files, blocks: blocks}
	h := sha256.New()
	for _, f := range files {
		h.Write(f.Text)
	}
	l.pack.SHA256 = hex.EncodeToString(h.Sum(nil))
	l.things, l.places = map[string]*formula.Thing{}, formula.Places{}
	l.pack.PlaceKinds = l.places
	l.functions = Functions()
	l.declared, l.misread = map[string]map[string]*syntax.Block{}, map[string]bool{}
	blocks = l.layer(blocks) // a child's number may have the name of its template's dimension
	for _, b := range blocks {
		l.checkShape(b)
		if l.declared[b.Kind] == nil {
			l.declared[b.Kind] = map[string]*syntax.Block{}
		}
		l.declared[b.Kind][b.Name()] = b
	}
	each := func(kind string, read func(b *syntax.Block)) {
		for _, b := range blocks {
			if b.Kind == kind && (b.Kind == "offer" || len(b.Labels) > 0) && !l.full() {
				l.loosePlace = false
				read(b)
			}
		}
	}
	each("pack", l.header)
	each("place", l.place)
	l.checkPlaces()
	each("option", l.option)
	each("metal", l.metal)
	each("instrument", l.instrument)
	each("supplier", l.supplier)
	each("slot", l.slot)
	each("part", l.part)
	l.slotThings()
	l.compileFits()
	each("offer", l.offer)
	each("curve", l.curve)
	each("dimension", l.dimension)
	each("check", l.check)
	l.numbers(blocks)
	each("space", l.space)
	each("temporary", l.temporary)
	each("joint", l.joint)
	each("operation", l.operation)
	each("lock", l.lock)
	each("caution", l.caution)
	l.whens()
	l.checkOrder()
	l.checkSlots()
	l.collectBlanks()
	return l.pack
}

// collectBlanks lists what is still to be filled in.
func (l *loader) collectBlanks() {
	for _, b := range l.pack.blocks {
		a := b.Attribute("blank")
		if a == nil {
			continue
		}
		for _, name := range l.blankNames(b) {
			l.pack.ToBeFilledIn = append(l.pack.ToBeFilledIn, b.Kind+"."+b.Name()+" "+name)
		}
	}
}

// blankNames returns the attributes that a block leaves to be filled in.
func (l *loader) blankNames(b *syntax.Block) []string {
	a := b.Attribute("blank")
	if a == nil {
		return nil
	}
	list, ok := a.Value.(*syntax.List)
	if !ok {
		return nil
	}
	var names []string
	for _, e := range list.Items {
		if t, ok := e.(*syntax.Text); ok && b.Attribute(t.Value) == nil {
			names = append(names, t.Value)
		}
	}
	return names
}
