// Package surface says how flat a joint face is: from heights read on a grid, from a
// straight-edge and feelers, and near the places where flatness matters most.
//
// It refuses to know packs, journals and people: every function takes readings and
// returns sizes. All values are in the typed kinds of package quantity.
//
// Where to look:
//
//	heights as they are written     ParsePoints
//	the flatness zone, exactly      MinimumZone
//	the mean plane and its spread   LeastSquares
//	four corners                    Twist, CornerTwist
//	a straight-edge                 StraightEdge, LargestFeeler
//	next to a dowel or a stud       HollowNear
//	an oil hole over another        OpenShare
//
// Three numbers are called flatness in the trade and they differ. The minimum zone
// is the distance of the two closest parallel planes that hold all readings; the
// least-squares value is the spread about the mean plane and is never smaller; what a
// straight-edge shows is the deepest gap under it, along one line only. Say which one
// a number is.
//
// Residuals are counted in the direction of z, not square to the plane. For a face
// that is nearly level on the plate the difference is nothing: at a slope of 1 mm in
// 100 mm it is 0.005 %.
//
// Nothing here certifies a face; the engine maker's manual, local codes and licensed
// practice go first.
package surface
