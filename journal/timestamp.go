package journal

import "time"

// parseTime reads an RFC 3339 date and time. It is written out here because the
// standard library's parser takes more than RFC 3339 allows, and gives times in
// the zone of the machine where the offsets happen to agree, so that one journal
// would read differently in two shops.
//
// Digits after the ninth of a fraction are dropped. A leap second, which is allowed
// only in the last minute of a UTC day, is read as the second that follows it. The
// zero time of Go, which means "no time" everywhere else, is refused.
//
// Source: RFC 3339, section 5.6 (grammar) and 5.7 (ranges). Seen: a stored copy of its
// text; tested with the examples of its section 5.8.
func parseTime(s string) (time.Time, bool) {
	if len(s) < len("2006-01-02T15:04:05Z") ||
		s[4] != '-' || s[7] != '-' || s[10]|0x20 != 't' || s[13] != ':' || s[16] != ':' {
		return time.Time{}, false
	}
	year, ok1 := digits(s[0:4])
	month, ok2 := digits(s[5:7])
	day, ok3 := digits(s[8:10])
	hour, ok4 := digits(s[11:13])
	minute, ok5 := digits(s[14:16])
	second, ok6 := digits(s[17:19])
	if !(ok1 && ok2 && ok3 && ok4 && ok5 && ok6) ||
		month < 1 || month > 12 || day < 1 || day > daysIn(year, month) ||
		hour > 23 || minute > 59 || second > 60 {
		return time.Time{}, false
	}
	rest := s[19:]
	nanos := 0
	if rest[0] == '.' {
		n, scale := 1, 100_000_000
		for n < len(rest) && '0' <= rest[n] && rest[n] <= '9' {
			nanos += int(rest[n]-'0') * scale
			scale /= 10
			n++
		}
		if n == 1 || n == len(rest) {
			return time.Time{}, false
		}
		rest = rest[n:]
	}
	zone := time.UTC
	switch {
	case len(rest) == 1 && rest[0]|0x20 == 'z':
	case len(rest) == len("+00:00") && (rest[0] == '+' || rest[0] == '-') && rest[3] == ':':
		h, okH := digits(rest[1:3])
		m, okM := digits(rest[4:6])
		if !okH || !okM || h > 23 || m > 59 {
			return time.Time{}, false
		}
		offset := h*3600 + m*60
		if rest[0] == '-' {
			offset = -offset
		}
		if offset != 0 {
			zone = time.FixedZone("", offset)
		}
	default:
		return time.Time{}, false
	}
	t := time.Date(year, time.Month(month), day, hour, minute, second, nanos, zone)
	if second == 60 {
		next := t.UTC()
		if next.Hour() != 0 || next.Minute() != 0 || t.Year() > 9999 {
			return time.Time{}, false
		}
	}
	return t, !t.IsZero()
}

// formatTime writes t as RFC 3339 in its own zone, or in UTC where that zone's
// offset is not a whole number of minutes within a day. A year outside 0 to 9999
// gives text that parseTime refuses.
func formatTime(t time.Time) string {
	if _, offset := t.Zone(); offset%60 != 0 || offset <= -24*3600 || offset >= 24*3600 {
		t = t.UTC()
	}
	return t.Format(time.RFC3339Nano)
}

// digits reads a short run of decimal digits.
func digits(s string) (int, bool) {
	n := 0
	for i := 0; i < len(s); i++ {
		d := s[i] - '0'
		if d > 9 {
			return 0, false
		}
		n = n*10 + int(d)
	}
	return n, true
}

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}
