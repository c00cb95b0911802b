package web

import "buttonup/words"

// handoutPath is the sheet that explains a thing, to give away.
func handoutPath(sh *sheet, of, place string) string {
	return query(jobPath(sh.Job.ID, "paper", "handout.pdf"), "of", of, "place", place)
}

// subletPath is what somebody else needs in writing to finish a thing to size.
func subletPath(sh *sheet, of string) string {
	return query(jobPath(sh.Job.ID, "paper", "sublet.pdf"), "of", of)
}

// lowerTitle is a title with its place, small inside a sentence.
func lowerTitle(title, place string) string { return lowerFirst(words.Title(title, place)) }
