package journal

// field is a name that means something at the top level of a line. There are fewer
// than 64, so that a set of them fits one word.
type field uint8

const (
	fieldID field = iota
	fieldAt
	fieldBy
	fieldKind
	fieldLate
	fieldTitle
	fieldPack
	fieldEngineNumber
	fieldOwner
	fieldAssembled
	fieldRoom
	fieldName
	fieldClass
	fieldStep
	fieldUncertainty
	fieldScale
	fieldCalibrated
	fieldMin
	fieldMax
	fieldGraduation
	fieldUnit
	fieldArm
	fieldOffset
	fieldAngle
	fieldOption
	fieldChoice
	fieldText
	fieldWhy
	fieldOf
	fieldPlace
	fieldCell
	fieldValue
	fieldInstrument
	fieldTemperature
	fieldPhase
	fieldNote
	fieldAnswer
	fieldEvent
	fieldPart
	fieldSlot
	fieldState
	fieldLot
	fieldSizes
	fieldPrice
	fieldTo
	fieldDue
	fieldAsked
	fieldCount
	fieldOperation
	fieldJoint
	fieldPoint
	fieldStage
	fieldWrench
	fieldFinding
	fieldWhat
	fieldAmount
	fieldWho
	fieldSHA256
	fieldAddress
	fieldMinutes
	fieldFrom
	fieldKey
	fieldSignature
	fieldSeq
	fieldHash

	fieldsEnd
)

// fieldNames holds each field's name in a line.
var fieldNames = [fieldsEnd]string{
	fieldID:           "id",
	fieldAt:           "at",
	fieldBy:           "by",
	fieldKind:         "kind",
	fieldLate:         "late",
	fieldTitle:        "title",
	fieldPack:         "pack",
	fieldEngineNumber: "engine_number",
	fieldOwner:        "owner",
	fieldAssembled:    "assembled",
	fieldRoom:         "room",
	fieldName:         "name",
	fieldClass:        "class",
	fieldStep:         "step",
	fieldUncertainty:  "uncertainty",
	fieldScale:        "scale",
	fieldCalibrated:   "calibrated",
	fieldMin:          "min",
	fieldMax:          "max",
	fieldGraduation:   "graduation",
	fieldUnit:         "unit",
	fieldArm:          "arm",
	fieldOffset:       "offset",
	fieldAngle:        "angle",
	fieldOption:       "option",
	fieldChoice:       "choice",
	fieldText:         "text",
	fieldWhy:          "why",
	fieldOf:           "of",
	fieldPlace:        "place",
	fieldCell:         "cell",
	fieldValue:        "value",
	fieldInstrument:   "instrument",
	fieldTemperature:  "temperature",
	fieldPhase:        "phase",
	fieldNote:         "note",
	fieldAnswer:       "answer",
	fieldEvent:        "event",
	fieldPart:         "part",
	fieldSlot:         "slot",
	fieldState:        "state",
	fieldLot:          "lot",
	fieldSizes:        "sizes",
	fieldPrice:        "price",
	fieldTo:           "to",
	fieldDue:          "due",
	fieldAsked:        "asked",
	fieldCount:        "count",
	fieldOperation:    "operation",
	fieldJoint:        "joint",
	fieldPoint:        "point",
	fieldStage:        "stage",
	fieldWrench:       "wrench",
	fieldFinding:      "finding",
	fieldWhat:         "what",
	fieldAmount:       "amount",
	fieldWho:          "who",
	fieldSHA256:       "sha256",
	fieldAddress:      "address",
	fieldMinutes:      "minutes",
	fieldFrom:         "from",
	fieldKey:          "key",
	fieldSignature:    "signature",
	fieldSeq:          "seq",
	fieldHash:         "hash",
}

// lookupField returns the field of a name, which is case-sensitive. A switch is several
// times quicker than a map here, and this runs once for every name of every line.
func lookupField(name string) (field, bool) {
	switch name {
	case "id":
		return fieldID, true
	case "at":
		return fieldAt, true
	case "by":
		return fieldBy, true
	case "kind":
		return fieldKind, true
	case "late":
		return fieldLate, true
	case "title":
		return fieldTitle, true
	case "pack":
		return fieldPack, true
	case "engine_number":
		return fieldEngineNumber, true
	case "owner":
		return fieldOwner, true
	case "assembled":
		return fieldAssembled, true
	case "room":
		return fieldRoom, true
	case "name":
		return fieldName, true
	case "class":
		return fieldClass, true
	case "step":
		return fieldStep, true
	case "uncertainty":
		return fieldUncertainty, true
	case "scale":
		return fieldScale, true
	case "calibrated":
		return fieldCalibrated, true
	case "min":
		return fieldMin, true
	case "max":
		return fieldMax, true
	case "graduation":
		return fieldGraduation, true
	case "unit":
		return fieldUnit, true
	case "arm":
		return fieldArm, true
	case "offset":
		return fieldOffset, true
	case "angle":
		return fieldAngle, true
	case "option":
		return fieldOption, true
	case "choice":
		return fieldChoice, true
	case "text":
		return fieldText, true
	case "why":
		return fieldWhy, true
	case "of":
		return fieldOf, true
	case "place":
		return fieldPlace, true
	case "cell":
		return fieldCell, true
	case "value":
		return fieldValue, true
	case "instrument":
		return fieldInstrument, true
	case "temperature":
		return fieldTemperature, true
	case "phase":
		return fieldPhase, true
	case "note":
		return fieldNote, true
	case "answer":
		return fieldAnswer, true
	case "event":
		return fieldEvent, true
	case "part":
		return fieldPart, true
	case "slot":
		return fieldSlot, true
	case "state":
		return fieldState, true
	case "lot":
		return fieldLot, true
	case "sizes":
		return fieldSizes, true
	case "price":
		return fieldPrice, true
	case "to":
		return fieldTo, true
	case "due":
		return fieldDue, true
	case "asked":
		return fieldAsked, true
	case "count":
		return fieldCount, true
	case "operation":
		return fieldOperation, true
	case "joint":
		return fieldJoint, true
	case "point":
		return fieldPoint, true
	case "stage":
		return fieldStage, true
	case "wrench":
		return fieldWrench, true
	case "finding":
		return fieldFinding, true
	case "what":
		return fieldWhat, true
	case "amount":
		return fieldAmount, true
	case "who":
		return fieldWho, true
	case "sha256":
		return fieldSHA256, true
	case "address":
		return fieldAddress, true
	case "minutes":
		return fieldMinutes, true
	case "from":
		return fieldFrom, true
	case "key":
		return fieldKey, true
	case "signature":
		return fieldSignature, true
	case "seq":
		return fieldSeq, true
	case "hash":
		return fieldHash, true
	}
	return 0, false
}
