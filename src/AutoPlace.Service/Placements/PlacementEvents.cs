using System.Collections.Concurrent;
using System.Threading.Channels;

namespace AutoPlace.Service.Placements;

/// <summary>Something that happened to a placement.</summary>
/// <param name="Name">"state", "stage", "finding" or "revision".</param>
/// <param name="Content">What is told, as JSON.</param>
internal sealed record PlacementEvent(string Name, object Content);

/// <summary>Brings what happens to placements to those who listen. Nobody has to; who is too slow misses the oldest.</summary>
internal sealed class PlacementEvents
{
    private const int MostWaiting = 512;

    private readonly ConcurrentDictionary<string, HashSet<Channel<PlacementEvent>>> _listeners = new(StringComparer.Ordinal);

    /// <summary>Listens to a placement until the subscription is disposed of.</summary>
    public Subscription Listen(string placement) => new(this, placement);

    /// <summary>Tells what happened.</summary>
    public void Tell(string placement, string name, object content)
    {
        if (_listeners.TryGetValue(placement, out HashSet<Channel<PlacementEvent>>? listeners))
        {
            lock (listeners)
            {
                foreach (Channel<PlacementEvent> listener in listeners)
                {
                    listener.Writer.TryWrite(new PlacementEvent(name, content));
                }
            }
        }
    }

    /// <summary>One listener.</summary>
    internal sealed class Subscription : IDisposable
    {
        private readonly PlacementEvents _events;
        private readonly string _placement;
        private readonly Channel<PlacementEvent> _channel = Channel.CreateBounded<PlacementEvent>(
            new BoundedChannelOptions(MostWaiting) { FullMode = BoundedChannelFullMode.DropOldest });

        public Subscription(PlacementEvents events, string placement)
        {
            (_events, _placement) = (events, placement);
            events.Change(placement, listeners => listeners.Add(_channel));
        }

        /// <summary>What happens.</summary>
        public ChannelReader<PlacementEvent> Events => _channel.Reader;

        /// <inheritdoc/>
        public void Dispose() => _events.Change(_placement, listeners => listeners.Remove(_channel));
    }

    // A set that got empty goes; whoever took it just before tries again with the next one.
    private void Change(string placement, Action<HashSet<Channel<PlacementEvent>>> change)
    {
        while (true)
        {
            HashSet<Channel<PlacementEvent>> listeners = _listeners.GetOrAdd(placement, _ => []);
            lock (listeners)
            {
                if (!_listeners.TryGetValue(placement, out HashSet<Channel<PlacementEvent>>? current) || current != listeners)
                {
                    continue;
                }

                change(listeners);
                if (listeners.Count == 0)
                {
                    _listeners.TryRemove(placement, out _);
                }

                return;
            }
        }
    }
}
