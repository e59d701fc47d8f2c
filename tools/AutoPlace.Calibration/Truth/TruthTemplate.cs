using AutoPlace.Registration;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration.Truth;

/// <summary>A template of the truth rig, made as any studio's would be: from the rig on a head of the model's own mesh.</summary>
internal static class TruthTemplate
{
    /// <summary>Makes it.</summary>
    /// <param name="pipeline">Looks at the head.</param>
    /// <param name="model">The model.</param>
    /// <param name="rig">The rig.</param>
    /// <param name="random">The head's stream.</param>
    /// <param name="doing">What the face does.</param>
    /// <param name="isMean">On the mean in place of a drawn identity.</param>
    public static PreparedTemplate Make(PlacementPipeline pipeline, MorphableModel model, TruthRig rig, SeededRandom random, TruthExpression doing, bool isMean)
    {
        var head = TruthHead.Make(model, random, doing, isMean, Remeshing.None);
        PlacementResult looked = pipeline.Run(head.Scan, PlacementOptions.Default, CancellationToken.None);
        return new PreparedTemplate(TemplateFitting.Fit(isMean ? "mean" : "identity", looked, rig.On(head.Shape, head.Pose)).Template);
    }
}
