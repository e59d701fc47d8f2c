using System.Numerics;
using AutoPlace.Calibration.Truth;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Tests.TrainingData;
using AutoPlace.TrainingData;
using Xunit;

namespace AutoPlace.Tests.Calibration;

public sealed class SampleJointsTests
{
    private readonly HeadSample _head = TrainingHeads.Mean();
    private static readonly int Nose = LandmarkNames.IndexOf("pronasale");

    [Fact]
    public void Joint_at_a_feature_that_was_replaced_goes_along()
    {
        var shift = new Vector3(0.1f, 0.05f, 0.2f);
        Vector3d carried = _head.Landmarks[Nose];
        _head.Landmarks[Nose] += shift;
        _head.Replaced[Nose] = shift;

        Assert.Equal((Vector3d)shift, SampleJoints.Place(carried, _head)!.Value - carried, Within(1e-3));
    }

    [Fact]
    public void Joint_far_from_all_landmarks_stays()
    {
        var far = new Vector3d(0, 0, -9);
        Array.Fill(_head.Replaced, new Vector3(1, 1, 1));

        Assert.Equal(far, SampleJoints.Place(far, _head));
    }

    [Fact]
    public void Joint_of_a_feature_that_is_absent_has_no_place()
    {
        _head.States[Nose] = LandmarkState.Absent;

        Assert.Null(SampleJoints.Place(_head.Landmarks[Nose] - _head.Replaced[Nose], _head));
    }

    private static EqualityComparer<Vector3d> Within(double distance) =>
        EqualityComparer<Vector3d>.Create((a, b) => Vector3d.Distance(a, b) <= distance, _ => 0);
}
