using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using System.Globalization;
using System.Text;

namespace AutoPlace.Service.Hosting;

/// <summary>
/// Sums up what meters measure and writes it in Prometheus' text format 0.0.4. Counters and gauges as they are, histograms
/// with fixed limits in seconds.
/// </summary>
internal sealed class PrometheusText : IDisposable
{
    /// <summary>Media type of the text.</summary>
    public const string MediaType = "text/plain; version=0.0.4; charset=utf-8";

    /// <summary>Upper limits of the histograms' classes, seconds: from one revision to a hard character.</summary>
    private static readonly double[] Limits = [0.001, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30];

    private static readonly string[] Meters = [ServiceMetrics.MeterName, "Microsoft.AspNetCore.Hosting"];

    private readonly MeterListener _listener = new();
    private readonly ConcurrentDictionary<(Instrument Instrument, string Labels), Series> _series = new();

    public PrometheusText()
    {
        _listener.InstrumentPublished = (instrument, listener) =>
        {
            // Up-down counters would have to be summed; those of the web server say little here.
            if (Meters.Contains(instrument.Meter.Name) && instrument is not (UpDownCounter<long> or UpDownCounter<double>))
            {
                listener.EnableMeasurementEvents(instrument);
            }
        };
        _listener.SetMeasurementEventCallback<long>((instrument, value, tags, _) => Measured(instrument, value, tags));
        _listener.SetMeasurementEventCallback<double>((instrument, value, tags, _) => Measured(instrument, value, tags));
        _listener.Start();
    }

    /// <summary>Everything measured so far.</summary>
    public string Write()
    {
        _listener.RecordObservableInstruments();
        var text = new StringBuilder();
        foreach (IGrouping<Instrument, KeyValuePair<(Instrument Instrument, string Labels), Series>> metric in
            _series.GroupBy(s => s.Key.Instrument).OrderBy(m => m.Key.Name, StringComparer.Ordinal))
        {
            string name = Name(metric.Key);
            text.Append(CultureInfo.InvariantCulture, $"# HELP {name} {metric.Key.Description}\n# TYPE {name} {Kind(metric.Key)}\n");
            foreach (((_, string labels), Series series) in metric.OrderBy(s => s.Key.Labels, StringComparer.Ordinal))
            {
                series.Write(text, name, labels);
            }
        }

        return text.ToString();
    }

    /// <inheritdoc/>
    public void Dispose() => _listener.Dispose();

    private void Measured(Instrument instrument, double value, ReadOnlySpan<KeyValuePair<string, object?>> tags) =>
        _series.GetOrAdd((instrument, Labels(tags)), key => new Series(Kind(key.Instrument))).Add(value);

    private static string Labels(ReadOnlySpan<KeyValuePair<string, object?>> tags)
    {
        var labels = new StringBuilder();
        foreach ((string name, object? value) in tags)
        {
            string plain = Convert.ToString(value, CultureInfo.InvariantCulture)!
                .Replace("\\", @"\\", StringComparison.Ordinal).Replace("\"", "\\\"", StringComparison.Ordinal).Replace("\n", "\\n", StringComparison.Ordinal);
            labels.Append(labels.Length > 0 ? "," : "").Append(CultureInfo.InvariantCulture, $"{name.Replace('.', '_')}=\"{plain}\"");
        }

        return labels.ToString();
    }

    // Prometheus' naming: units and "total" at the end.
    private static string Name(Instrument instrument)
    {
        string name = instrument.Name.Replace('.', '_') + instrument.Unit switch { "s" => "_seconds", "By" => "_bytes", _ => "" };
        return Kind(instrument) == "counter" ? name + "_total" : name;
    }

    private static string Kind(Instrument instrument) => instrument switch
    {
        Histogram<double> or Histogram<long> => "histogram",
        Counter<long> or Counter<double> => "counter",
        _ => "gauge",
    };

    private sealed class Series(string kind)
    {
        private readonly long[] _counts = new long[Limits.Length];
        private readonly Lock _adding = new();
        private double _sum;
        private long _count;

        public void Add(double value)
        {
            lock (_adding)
            {
                _sum = kind == "gauge" ? value : _sum + value;
                _count++;
                for (int i = 0; kind == "histogram" && i < Limits.Length; i++)
                {
                    _counts[i] += value <= Limits[i] ? 1 : 0;
                }
            }
        }

        public void Write(StringBuilder text, string name, string labels)
        {
            lock (_adding)
            {
                string braces = labels.Length > 0 ? $"{{{labels}}}" : "";
                if (kind != "histogram")
                {
                    text.Append(CultureInfo.InvariantCulture, $"{name}{braces} {_sum}\n");
                    return;
                }

                string before = labels.Length > 0 ? labels + "," : "";
                for (int i = 0; i < Limits.Length; i++)
                {
                    text.Append(CultureInfo.InvariantCulture, $"{name}_bucket{{{before}le=\"{Limits[i]}\"}} {_counts[i]}\n");
                }

                text.Append(CultureInfo.InvariantCulture, $"{name}_bucket{{{before}le=\"+Inf\"}} {_count}\n{name}_sum{braces} {_sum}\n{name}_count{braces} {_count}\n");
            }
        }
    }
}
