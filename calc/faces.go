package calc

import (
	"buttonup/mechanics/surface"
	"buttonup/quantity"
)

var faceCalculations = []*Calculation{
	{
		Name:    "flatness",
		Summary: "flatness zone of a face, least squares and twist",
		About: []string{
			"`minimum_zone` is the distance of the two closest parallel planes that hold all heights, exactly; `least_squares` is the spread about the mean plane and never less. Heights count in z, not square to the plane. `twist` is given for four corners, in any order: how far apart the diagonals are where they cross, positive where the diagonal of the first point is the higher; for a rectangle it is (h1 + h3 − h2 − h4)/2 of heights read walking round.",
		},
		Source:    "twist is geometry, common practice; zone and mean plane were held against a linear programme and a least-squares fit of other programs; MZPL and LSPL of ISO 12781-1, with residuals in z. Memory",
		Arguments: []Argument{written("points", `four heights or more with their places: "x,y,z; x,y,z; …"; bare numbers are millimetres, and a number may carry a unit of its own ("4 in,0,0.3 thou")`)},
		Outputs: []Output{
			{Name: "minimum_zone", Is: "flatness as the minimum zone", Needs: [][]string{{"points"}}},
			{Name: "least_squares", Is: "flatness about the least-squares plane, peak to valley", Needs: [][]string{{"points"}}},
			{Name: "twist", Is: "twist of four corners", Needs: [][]string{{"points"}}},
		},
		Example:     []string{"points=0,0,0; 1,0,2; 2,0,4; 0,1,1; 1,1,5; 2,1,3; 0,2,2; 1,2,0; 2,2,6"},
		ExampleFrom: "GLPK 5.0 solves the linear programme to 4, NumPy 1.24.2 gives 5.333333333 about the mean plane",
		compute:     flatness,
	},
}

func flatness(in *inputs, out *Answer) error {
	points, err := surface.ParsePoints(in.text("points"))
	if err != nil {
		return err
	}
	zone, err := surface.MinimumZone(points)
	if err != nil {
		return err
	}
	fit, err := surface.LeastSquares(points)
	if err != nil {
		return err
	}
	u := quantity.MustUnit("mm")
	out.value("minimum_zone", float64(zone.Width), u)
	out.value("least_squares", float64(fit.PeakToValley), u)
	if len(points) != 4 {
		return nil
	}
	twist, err := surface.CornerTwist(points)
	if err != nil {
		out.note("no twist: one of the four points lies inside the others or between two of them")
		return nil
	}
	out.value("twist", float64(twist), u)
	return nil
}
