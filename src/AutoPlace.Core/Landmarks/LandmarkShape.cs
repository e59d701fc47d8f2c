using System.Reflection;
using System.Text.Json;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// How the landmarks of heads lie to each other: a normal distribution of all their coordinates together, in the head
/// frame, interocular distances. Immutable.
/// </summary>
public sealed class LandmarkShape
{
    private const string ResourceName = "AutoPlace.Landmarks.landmark-shape.json";
    private const string Format = "autoplace.landmark-shape";
    private const int Version = 1;

    private static readonly Lazy<LandmarkShape> Built = new(LoadBuilt);

    private readonly Vector3d[] _mean;
    private readonly SymmetricMatrix _covariance;

    /// <summary>Takes the distribution.</summary>
    /// <param name="mean">Mean places of n landmarks.</param>
    /// <param name="covariance">Covariance of their 3 n coordinates, x, y, z of one landmark after the other; positive semidefinite.</param>
    /// <exception cref="ArgumentException">The sizes don't fit.</exception>
    public LandmarkShape(IEnumerable<Vector3d> mean, SymmetricMatrix covariance)
    {
        ArgumentNullException.ThrowIfNull(mean);
        ArgumentNullException.ThrowIfNull(covariance);
        _mean = [.. mean];
        _covariance = covariance;
        if (covariance.Order != 3 * _mean.Length)
        {
            throw new ArgumentException($"A covariance of order {covariance.Order} for {_mean.Length} landmarks.", nameof(covariance));
        }
    }

    /// <summary>The network's landmarks on generated heads of all kinds.</summary>
    public static LandmarkShape OfHeads => Built.Value;

    /// <summary>
    /// Landmarks as the views saw them and heads have them: the mean of the normal distribution given observations whose
    /// errors are normal, each with the landmark's own covariance (Bishop, "Pattern Recognition and Machine Learning",
    /// 2006, eq. 2.116; from memory). What is seen surely hardly moves and takes along what is not.
    /// </summary>
    /// <param name="seen">The landmarks of the distribution, in its order.</param>
    /// <returns>The same with place and covariance given all of them.</returns>
    public IReadOnlyList<Landmark> Conditioned(IReadOnlyList<Landmark> seen)
    {
        ArgumentNullException.ThrowIfNull(seen);
        if (seen.Count != _mean.Length)
        {
            throw new ArgumentException($"{seen.Count} landmarks for a distribution of {_mean.Length}.", nameof(seen));
        }

        // With S the distribution's covariance and C the observations', x = z - C (S + C)^-1 (z - mean), of covariance C - C (S + C)^-1 C.
        int order = _covariance.Order;
        var sum = new SymmetricMatrix(order);
        double[] solved = new double[order];
        for (int i = 0; i < order; i++)
        {
            (int k, int axis) = (i / 3, i % 3);
            Matrix3d error = seen[k].Covariance;
            Vector3d errors = axis switch { 0 => error.Row0, 1 => error.Row1, _ => error.Row2 };
            Span<double> row = sum.Row(i);
            _covariance.Row(i).CopyTo(row);
            for (int j = 0; j <= axis; j++)
            {
                row[(3 * k) + j] += errors[j];
            }

            solved[i] = seen[k].Position[axis] - _mean[k][axis];
        }

        if (BlockedCholesky.TryFactor(sum) is not { } factor)
        {
            return seen;
        }

        factor.Solve(solved);
        double[] inverse = new double[order * order];
        for (int i = 0; i < order; i++)
        {
            inverse[(order * i) + i] = 1;
        }

        factor.SolveLower(inverse); // rows: columns of L^-1
        return [.. seen.Select((l, k) =>
        {
            Matrix3d c = l.Covariance, known = c * Between(inverse, order, k) * c;
            return l with
            {
                Position = l.Position - (c * new Vector3d(solved[3 * k], solved[(3 * k) + 1], solved[(3 * k) + 2])),
                Covariance = c - ((known + known.Transposed()) * 0.5),
            };
        })];
    }

    /// <summary>The distribution as a file.</summary>
    /// <param name="names">Names of the landmarks.</param>
    /// <returns>UTF-8 JSON; lengths rounded to 1e-6, variances to 1e-9.</returns>
    public byte[] ToJson(IReadOnlyList<string> names)
    {
        using var bytes = new MemoryStream();
        using (var json = new Utf8JsonWriter(bytes, new JsonWriterOptions { Indented = true, NewLine = "\n" }))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            Write("landmarks", names.Select(n => $"\"{n}\""));
            Write("mean", _mean.SelectMany(p => new[] { p.X, p.Y, p.Z }).Select(v => Rounded(v, 6)));
            json.WriteStartArray("covariance"); // rows of the lower triangle
            for (int i = 0; i < _covariance.Order; i++)
            {
                json.WriteRawValue($"[{string.Join(',', _covariance.Row(i).ToArray().Select(v => Rounded(v, 9)))}]");
            }

            json.WriteEndArray();
            json.WriteEndObject();

            void Write(string name, IEnumerable<string> values)
            {
                json.WritePropertyName(name);
                json.WriteRawValue($"[{string.Join(',', values)}]");
            }
        }

        bytes.WriteByte((byte)'\n');
        return bytes.ToArray();
    }

    private static string Rounded(double value, int digits) =>
        (Math.Round(value, digits) + 0.0).ToString("0.#########", System.Globalization.CultureInfo.InvariantCulture);

    private static LandmarkShape LoadBuilt()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(ResourceName)
            ?? throw new InvalidOperationException($"The resource {ResourceName} is missing from the assembly.");
        using var json = JsonDocument.Parse(stream);
        JsonElement root = json.RootElement;
        if (root.GetProperty("format").GetString() != Format || root.GetProperty("version").GetInt32() != Version
            || !root.GetProperty("landmarks").EnumerateArray().Select(n => n.GetString()).SequenceEqual(LandmarkNames.All))
        {
            throw new InvalidOperationException($"The resource {ResourceName} is of another version, or of other landmarks.");
        }

        double[] mean = [.. root.GetProperty("mean").EnumerateArray().Select(v => v.GetDouble())];
        var covariance = new SymmetricMatrix(mean.Length);
        int i = 0;
        foreach (JsonElement row in root.GetProperty("covariance").EnumerateArray())
        {
            int j = 0;
            Span<double> elements = covariance.Row(i++);
            foreach (JsonElement value in row.EnumerateArray())
            {
                elements[j++] = value.GetDouble();
            }
        }

        return new LandmarkShape(mean.Chunk(3).Select(p => new Vector3d(p[0], p[1], p[2])), covariance);
    }

    // The 3 x 3 block of L^-T L^-1 that belongs to one landmark.
    private static Matrix3d Between(double[] lowerInverse, int order, int landmark)
    {
        ReadOnlySpan<double> Column(int axis) => lowerInverse.AsSpan(order * ((3 * landmark) + axis), order);

        Vector3d Row(int axis) => new(
            BlockedCholesky.Dot(Column(axis), Column(0)), BlockedCholesky.Dot(Column(axis), Column(1)), BlockedCholesky.Dot(Column(axis), Column(2)));

        return new Matrix3d(Row(0), Row(1), Row(2));
    }
}
