using AutoPlace.Conditioning;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace;

/// <summary>
/// The path from a scan to a checked placement: import before it, export after it. Holds the loaded network and the
/// prepared built-in template; may be used by several threads.
/// </summary>
public sealed class PlacementPipeline : IDisposable
{
    /// <summary>Landmarks by which a head shows more of itself than another: a tenth of all.</summary>
    private const int MarkedlyMore = 6;

    private readonly LandmarkNetwork _network;
    private readonly Lazy<SurveyNetwork> _survey = new(SurveyNetwork.OpenDefault); // most heads are found without
    private readonly ConfidenceCalibration? _calibration;
    private readonly Lazy<PreparedTemplate> _builtIn = new(() => new PreparedTemplate(BuiltInTemplate.Load()));
    private volatile PreparedTemplate? _lastOwn;

    private PlacementPipeline(LandmarkModel model)
    {
        Task.Run(() => _builtIn.Value.RowLoops); // while the network loads and looks; whoever needs it waits for it
        _calibration = CalibrationFile.Beside(model);
        _network = model.CreateNetwork();
    }

    /// <summary>Loads the landmark network that lies beside the program.</summary>
    /// <exception cref="LandmarkModelException">There is none, or it isn't one that this version understands.</exception>
    public static PlacementPipeline Open() => new(LandmarkModel.OpenDefault());

    /// <summary>Uses a landmark network that lies elsewhere.</summary>
    /// <param name="model">The network, with its calibration beside it if it has one.</param>
    /// <exception cref="LandmarkModelException">The calibration can't be used.</exception>
    public static PlacementPipeline Open(LandmarkModel model) => new(model);

    /// <summary>Places a lattice on the head of a scan.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="options">What the caller wants.</param>
    /// <param name="cancellation">Checked before each stage, view and candidate.</param>
    /// <exception cref="HeadNotFoundException">The scan shows no head.</exception>
    /// <exception cref="Export.PlacementFormatException">A placement to take corrections from is one of another head or template.</exception>
    public PlacementResult Run(HeadScan scan, PlacementOptions options, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(options);
        var clock = new StageClock(options.OnStage, cancellation);
        ScanSurface surface = clock.Time("Geometry", () => ScanSurface.Of(scan, options.Parts));
        (FrameScore place, HeadReading read, string? name, IReadOnlyList<string> others) = MostComplete(scan, surface, options, clock, cancellation);
        (PreparedTemplate template, CarriedHead? carried) = clock.Time("Template", () => Recognised(Prepare(options.Template), scan, options));
        ConditionedHead understood = clock.Time("Conditioning", () => ConditionedHead.From(surface, read, options.Symmetric, carried?.Frame));
        SeenHead seen = clock.Time("Verification", () => SeenHead.Of(_calibration, surface, place, read, understood, []));
        if (carried is null && options.Parts.Count == 0)
        {
            seen = clock.Time("Landmarks", () => seen.Uncovered(scan, _network, _calibration, _builtIn.Value.MeanFace, options.Symmetric, cancellation));
        }

        ConditionedHead head = seen.Head;
        JointLattice lattice = LatticeAt(template.Head, options.Lattice);
        HeadRegistration? found = carried is null ? clock.Time("Registration", () => LatticeRegistration.Register(AtlasOf(template), head)) : null;
        CorrectableHead automatic = clock.Time("Registration", () => found is null
            ? CorrectableHead.Carried(template, lattice, head, carried!, scan.Mesh)
            : CorrectableHead.Seen(template, AtlasOf(template), lattice, head.Mesh, found, scan.Mesh));
        KeptCorrections kept = clock.Time("Registration", () => KeptCorrections.Of(options, scan, head.Frame, template.Head, automatic));
        CorrectableHead correctable = clock.Time("Registration", () => automatic.With(kept.Corrections));
        LatticePlacement solved = clock.Time("Registration", () => correctable.Solve(kept.Corrections));
        HeadConfidence confidence = clock.Time("Verification", () => (seen.Confidence with { PlacedHead = name, OtherHeads = others }).WithRadiiOf(found is null ? [] : automatic.Automatic.Joints));
        (LatticePlacement placement, IReadOnlyList<Landmark> landmarks, IReadOnlyList<Finding> findings) = clock.Time("Verification", () => CorrectedPlacement.Check(
            confidence, kept, correctable, solved, head.Evidence.Skin.Hierarchy));
        return new PlacementResult
        {
            Scan = scan,
            Frame = head.Frame,
            MetresPerUnit = scan.MetresPerUnit ?? UnitInference.Infer(head.Frame.InterocularDistance)[0].MetresPerUnit,
            NeedsPerson = ReviewNeed.Judge(seen.Place.Agreement, confidence, landmarks, findings, placement.Joints),
            HeadMesh = head.Mesh,
            Skin = head.Evidence.Skin.Hierarchy,
            Landmarks = landmarks,
            Template = template.Head,
            Lattice = options.Lattice,
            Model = new ModelIdentity(_network.Model.Name, _network.Model.Version, _network.Model.Sha256),
            Neutral = clock.Time("Verification", () => NeutralState.Of(head.Evidence.Landmarks, (head.GazeLeft, head.GazeRight), found?.Mouth, _builtIn.Value)),
            Registration = found,
            Placement = placement,
            Correctable = correctable,
            Corrections = kept.Corrections,
            Confidence = confidence,
            Agreement = seen.Place.Agreement,
            Findings = findings,
            Timings = clock.Timings,
        };
    }

    // Places that a first look took for a head are read in turn, until one is like a head from all sides.
    private (FrameScore Found, HeadReading Read) FindAndRead(
        string file, ScanSurface surface, PlacementOptions options, StageClock clock, CancellationToken cancellation)
    {
        var detector = new LandmarkDetector(surface, _network);
        (FrameScore Found, HeadReading Read)? likeliest = null;
        using IEnumerator<FrameScore> places =
            HeadFinder.Find(file, surface.Mesh, options.Up, options.Front, detector.Score, Propose, cancellation).GetEnumerator();
        while (clock.Time("Conditioning", places.MoveNext))
        {
            FrameScore found = places.Current;
            HeadReading read = clock.Time("Landmarks", () => HeadReader.Read(surface, detector, found, _builtIn.Value.MeanFace, cancellation));
            if (read.Likeness >= HeadReading.LeastLikeness)
            {
                return (found, read);
            }

            likeliest = likeliest is { } other && other.Read.Likeness >= read.Likeness ? other : (found, read);
        }

        IReadOnlyList<HeadFrame> Propose(CancellationToken stop) => HeadSurvey.Propose(surface, _survey.Value, stop);

        double least = options is { Up: not null, Front: not null } ? HeadReading.LeastLikenessWhereTold : HeadReading.LeastLikeness;
        return likeliest is { } best && best.Read.Likeness >= least ? best : throw new HeadNotFoundException(
            file, $"no head found: seen from several sides, the best place is like a head by {likeliest?.Read.Likeness ?? 0:0.00}, a head by more than {least:0.00}");
    }

    // Of several heads beside each other the one that shows markedly more of itself than what was found first, with its name and those of the others.
    private (FrameScore Found, HeadReading Read, string? Name, IReadOnlyList<string> Others) MostComplete(
        HeadScan scan, ScanSurface surface, PlacementOptions options, StageClock clock, CancellationToken cancellation)
    {
        (FrameScore found, HeadReading read) = FindAndRead(scan.Source, surface, options, clock, cancellation);
        if (options.Parts.Count > 0)
        {
            return (found, read, null, []); // who names parts knows which head is meant
        }

        var detector = new LandmarkDetector(surface, _network);
        (string? name, IReadOnlyList<OtherHeads.OtherHead> others) = Beside(read);
        if (others.MaxBy(other => other.Read.Shown) is { } fuller && fuller.Read.Shown >= read.Shown + MarkedlyMore)
        {
            (found, read) = (fuller.Found, fuller.Read);
            (name, others) = Beside(read);
        }

        return (found, read, name, [.. others.Select(other => other.Name)]);

        (string? Name, IReadOnlyList<OtherHeads.OtherHead> Others) Beside(HeadReading head) => clock.Time(
            "Landmarks", () => OtherHeads.Of(scan, surface, detector, head.Frame, _builtIn.Value.MeanFace, cancellation));
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _network.Dispose();
        if (_survey.IsValueCreated)
        {
            _survey.Value.Dispose();
        }
    }

    // Many heads get the same template, one after the other.
    private PreparedTemplate Prepare(TemplateHead? own) =>
        own is null ? _builtIn.Value
        : _lastOwn is { } last && ReferenceEquals(last.Head, own) ? last
        : _lastOwn = new PreparedTemplate(own);

    // A head of the template's own topology gets the template with its vertices and faces in the head's order.
    private static (PreparedTemplate Template, CarriedHead? Carried) Recognised(PreparedTemplate template, HeadScan scan, PlacementOptions options)
    {
        TemplateHead? numbered = options.CarriesTopology && options.Parts.Count == 0 ? template.Head.NumberedAs(scan.Mesh) : null;
        return numbered is null || CarriedHead.Recognise(numbered, scan) is not { } carried ? (template, null)
            : (ReferenceEquals(numbered, template.Head) ? template : new PreparedTemplate(numbered), carried);
    }

    // A template that isn't the atlas itself is embedded in it.
    private PreparedTemplate AtlasOf(PreparedTemplate template) => template.Embedding is null ? template : _builtIn.Value;

    private static JointLattice LatticeAt(TemplateHead template, LatticeExtent extent) =>
        extent == LatticeExtent.Reduced ? LatticeReduction.Reduced(template) : template.Lattice;
}
