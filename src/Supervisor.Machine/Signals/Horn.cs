namespace Supervisor.Machine.Signals;

/// <summary>
/// Whether the horn sounds: for an occurrence of an alarm that nobody has acknowledged, until it is acknowledged, silenced or has lasted its time.
/// A later occurrence makes it sound anew.
/// </summary>
/// <param name="longest">How long it sounds for one occurrence at most.</param>
internal sealed class Horn(TimeSpan longest)
{
    private long _answered;
    private long _newest;
    private TimeSpan _until;

    /// <summary>As of the last look.</summary>
    public bool Sounds { get; private set; }

    /// <summary>Looks at the alarms.</summary>
    /// <param name="newest">Count of the newest occurrence that waits to be acknowledged; 0: none does. It rises with every occurrence.</param>
    /// <param name="now">Monotonic time.</param>
    public void Step(long newest, TimeSpan now)
    {
        if (newest > _newest)
        {
            (_newest, _until) = (newest, now + longest);
        }

        if (now >= _until)
        {
            _answered = _newest;
        }

        Sounds = newest > _answered;
    }

    /// <summary>A person has heard it. False when it did not sound.</summary>
    public bool Silence()
    {
        var sounded = Sounds;
        _answered = _newest;
        Sounds = false;
        return sounded;
    }
}
