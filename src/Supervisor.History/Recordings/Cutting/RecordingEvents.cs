namespace Supervisor.History.Recordings.Cutting;

/// <summary>Events on their way to the recorder. Telling one never waits for anything but another's telling. Thread-safe.</summary>
public sealed class RecordingEvents
{
    private const int Most = 256;

    private readonly Lock _gate = new();
    private readonly Queue<RecordingEvent> _waiting = new();

    /// <summary>Tells of an event. Beyond some hundreds that were not taken further ones are left out: those before make the recording.</summary>
    public void Tell(in RecordingEvent happened)
    {
        lock (_gate)
        {
            if (_waiting.Count < Most)
            {
                _waiting.Enqueue(happened);
            }
        }
    }

    internal bool TryTake(out RecordingEvent happened)
    {
        lock (_gate)
        {
            return _waiting.TryDequeue(out happened);
        }
    }
}
