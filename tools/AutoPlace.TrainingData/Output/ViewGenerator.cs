using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.TrainingData.Styling;

namespace AutoPlace.TrainingData.Output;

/// <summary>Builds a head and records its views. One for each thread.</summary>
internal sealed class ViewGenerator
{
    private readonly GenerationOptions _options;
    private readonly HeadBuilder _builder;
    private readonly ViewRecorder _recorder = new();
    private readonly Scene _scene = new();

    /// <summary>Prepares buffers.</summary>
    public ViewGenerator(GenerationOptions options, MorphableModel model, LandmarkCarrier carrier, HeadRegions regions)
    {
        _options = options;
        _builder = new HeadBuilder(model, carrier, regions);
    }

    /// <summary>Writes all views of a head.</summary>
    /// <param name="number">Number of the head within the seed.</param>
    /// <param name="recordOf">Gives the memory of view v's record.</param>
    public void Generate(int number, Func<int, Memory<byte>> recordOf)
    {
        SeededRandom random = _options.HeadStream(number);
        HeadSample head = _builder.Build(number, random, _options.Kinds.Draw(random));
        Func<SampledView> next;
        if (_options.Survey)
        {
            head = _scene.Around(head, random);
            next = new SurveySampler(random, head.Mesh).Next;
        }
        else
        {
            next = new PoseSampler(random, _options.Kinds.WrongFrame).Next;
        }

        for (int view = 0; view < _options.ViewsPerHead; view++)
        {
            _recorder.Write(head, next(), recordOf(view).Span);
        }
    }
}
