using AutoPlace.Service.Revisions;

namespace AutoPlace.Service.Placements;

/// <summary>What is left to do once placements were deleted, alone or with their head or bulk.</summary>
internal sealed class PlacementRemoval(PlacementQueue queue, OpenPlacements open, PlacementEvents events)
{
    /// <summary>Stops them, closes them, and tells those who listen to them.</summary>
    /// <param name="deleted">The placements as they were.</param>
    public void Finish(IReadOnlyCollection<Placement> deleted)
    {
        string[] names = [.. deleted.Select(placement => placement.Id)];
        queue.Cancel(names);
        open.Forget(names);
        foreach (Placement placement in deleted)
        {
            events.Tell(placement.Id, "state", placement with { State = PlacementState.Cancelled, Stage = null });
        }
    }
}
