using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>From a template to the teeth and the tongue of a head: by their own surfaces where both have them, else by the face around the mouth.</summary>
public sealed class MouthFit
{
    private readonly HeadEvidence _evidence;
    private readonly Lazy<IReadOnlyDictionary<Ride, SimilarityTransform>> _found;

    /// <summary>Prepares a head; the parts are looked for when a joint asks for one.</summary>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    /// <param name="evidence">What is known of the head.</param>
    internal MouthFit(PreparedTemplate atlas, HeadEvidence evidence)
    {
        (Atlas, _evidence) = (atlas, evidence);
        _found = new(() => atlas.MouthParts.Find(evidence.OtherPieces, Starts(atlas).For));
    }

    /// <summary>The template that was shaped after the atlas.</summary>
    internal PreparedTemplate Atlas { get; }

    /// <summary>Ways to ride that have a part in the mouth.</summary>
    internal static IReadOnlyList<Ride> Rides { get; } = [Ride.TeethUpper, Ride.TeethLower, Ride.Tongue];

    /// <summary>The similarity from a template to each part of the head.</summary>
    /// <param name="template">The template: the atlas's own, or one embedded in it.</param>
    /// <returns>One for each of <see cref="Rides"/>.</returns>
    internal IReadOnlyDictionary<Ride, (SimilarityTransform Similarity, JointState State)> Of(PreparedTemplate template)
    {
        MouthStarts starts = Starts(template);
        IReadOnlyDictionary<Ride, SimilarityTransform> found = template.Embedding is null ? _found.Value : OfOwn(template, starts);
        return Rides.ToDictionary(ride => ride, ride => found.TryGetValue(ride, out SimilarityTransform? onHead)
            ? (onHead, JointState.Modelled) : (ByFace(template, starts, ride), JointState.Inferred));
    }

    // How the face around an open mouth lies to its teeth doesn't hold in a closed one: the way goes through the atlas, whose mouth is closed.
    private SimilarityTransform ByFace(PreparedTemplate template, MouthStarts starts, Ride ride) =>
        template.Embedding is not null && template.MouthOn(Atlas) is { IsOpen: true } mouth
        && mouth.FromAtlas.TryGetValue(ride, out SimilarityTransform? onTemplate)
            ? onTemplate.Inverse().Then(Starts(Atlas).ByFace(ride))
            : starts.ByFace(ride);

    // A template's own teeth are more like those of the head than the atlas's, by which both are known nearly.
    private Dictionary<Ride, SimilarityTransform> OfOwn(PreparedTemplate template, MouthStarts starts)
    {
        FoundMouth mouth = template.MouthOn(Atlas);
        var nearly = new Dictionary<Ride, SimilarityTransform>();
        foreach ((Ride ride, SimilarityTransform onTemplate) in mouth.FromAtlas)
        {
            if (_found.Value.TryGetValue(ride, out SimilarityTransform? onHead))
            {
                nearly.Add(ride, onTemplate.Inverse().Then(onHead));
            }
        }

        var own = new Dictionary<Ride, SimilarityTransform>(nearly);
        foreach ((Ride ride, SimilarityTransform onHead) in mouth.Own.Find(
            _evidence.OtherPieces, (ride, found) => nearly.TryGetValue(ride, out SimilarityTransform? near) ? starts.For(ride, found).Prepend(near) : starts.For(ride, found)))
        {
            own[ride] = onHead;
        }

        return own;
    }

    private MouthStarts Starts(PreparedTemplate template) => new(template.Head.Landmarks, _evidence.Landmarks, _evidence.AtlasToHead);
}
