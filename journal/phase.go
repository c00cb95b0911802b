package journal

// CurrentPhase sorts the readings of one dimension at one place, in the order of
// the file, into the sets of their phases and returns the current set and the
// older ones, each in the order of the file.
//
// The set of the phase begun last is current. A reading without a phase belongs to
// the set that is current when it comes; readings before any phase is named make a
// set of their own. A reading that names a phase begun earlier joins that set and
// does not make it current again. History is in the order in which the sets were
// begun. No readings give nil and nil.
func CurrentPhase(readings []ReadingRecord) (current []ReadingRecord, history [][]ReadingRecord) {
	// At most three named phases and one without a name: a search is quickest.
	var names []string
	var sets [][]ReadingRecord
	for _, r := range readings {
		k := len(sets) - 1
		if r.Phase != "" || k < 0 {
			for k = 0; k < len(sets) && names[k] != r.Phase; k++ {
			}
		}
		if k == len(sets) {
			names = append(names, r.Phase)
			sets = append(sets, nil)
		}
		sets[k] = append(sets[k], r)
	}
	if len(sets) == 0 {
		return nil, nil
	}
	last := len(sets) - 1
	if last == 0 {
		return sets[0], nil
	}
	return sets[last], sets[:last]
}
