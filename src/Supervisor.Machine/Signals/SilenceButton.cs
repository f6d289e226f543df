using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Signals;

/// <summary>The button that silences the horn: acts when it is pressed, after it was seen released. One that is stuck or bridged silences nothing.</summary>
internal sealed class SilenceButton(TimeSpan staleAfter)
{
    private bool _isReleased;
    private TimeSpan _changedAt;

    /// <summary>Looks at the button; true once for every press.</summary>
    public bool Step(in InputReading reading, TimeSpan now)
    {
        if (reading.IsStale(now, staleAfter))
        {
            _isReleased = false;
            return false;
        }

        // Pressed and released between two looks: a release with a later stamp than the one that was seen.
        var wasPressed = _isReleased && reading.ChangedAt != _changedAt;
        (_isReleased, _changedAt) = (!reading.Closed, reading.ChangedAt);
        return wasPressed;
    }
}
