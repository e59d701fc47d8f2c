namespace AutoPlace.Service.Storage;

/// <summary>What a sweep found.</summary>
/// <param name="Removed">Files that no row named: they were removed.</param>
/// <param name="Missing">SHA-256 of files that a row names and that aren't there.</param>
internal sealed record SweepOutcome(int Removed, IReadOnlyList<string> Missing);

/// <summary>Brings files and rows together after the process ended amid a write, however that was.</summary>
internal static class StoreSweep
{
    /// <summary>Removes files without rows and reports rows without files. A missing file that can be made again is forgotten.</summary>
    public static SweepOutcome Run(ServiceDatabase database, ContentFiles files) => database.Write(connection =>
    {
        int removed = files.RemoveWaiting();
        HashSet<string> there = [.. files.All()];
        foreach (string derived in connection.All("SELECT DISTINCT sha256 FROM derived", row => row.GetString(0)).Where(hash => !there.Contains(hash)))
        {
            connection.Execute("DELETE FROM derived WHERE sha256 = $1", derived);
        }

        HashSet<string> named = [.. connection.All(
            "SELECT sha256 FROM heads UNION SELECT sha256 FROM templates UNION SELECT sha256 FROM revisions UNION SELECT sha256 FROM derived",
            row => row.GetString(0))];
        foreach (string orphan in there.Where(hash => !named.Contains(hash)))
        {
            files.Remove(orphan);
            removed++;
        }

        return new SweepOutcome(removed, [.. named.Where(hash => !there.Contains(hash)).Order(StringComparer.Ordinal)]);
    });
}
