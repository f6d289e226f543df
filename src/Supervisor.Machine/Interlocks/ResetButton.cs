using Supervisor.Runtime.Inputs;

namespace Supervisor.Machine.Interlocks;

/// <summary>A reset button at the machine: acts on release, after it was seen released, then pressed for at least 100 ms.</summary>
/// <remarks>Acting on release follows ISO 13849-1, 5.2.2 (reset by letting the actuator go); a button stuck at 1 or bridged never resets.</remarks>
internal sealed class ResetButton(InputBoard inputs, int cell, string text, TimeSpan staleAfter)
{
    /// <summary>Shortest press that counts.</summary>
    public static readonly TimeSpan ShortestPress = TimeSpan.FromMilliseconds(100);

    private ButtonState _state = ButtonState.NotSeenReleased;

    private enum ButtonState : byte
    {
        NotSeenReleased,
        Released,
        Pressed,
    }

    /// <summary>Cell of its input.</summary>
    public int Cell { get; } = cell;

    /// <summary>Its input as the file says it.</summary>
    public string Text { get; } = text;

    /// <summary>When the last press began.</summary>
    public TimeSpan PressedAt { get; private set; }

    /// <summary>Looks at the button; true once for every full press and release.</summary>
    public bool Step(TimeSpan now)
    {
        var reading = inputs.Read(Cell);
        if (reading.IsStale(now, staleAfter))
        {
            // What happened while it was silent is unknown: begin anew.
            _state = ButtonState.NotSeenReleased;
            return false;
        }

        return reading.Closed ? Press(reading.ChangedAt) : Release(reading.ChangedAt);
    }

    private bool Press(TimeSpan since)
    {
        if (_state == ButtonState.NotSeenReleased)
        {
            return false;
        }

        // A release and a new press between two looks shows as a later change.
        if (_state == ButtonState.Released || since != PressedAt)
        {
            _state = ButtonState.Pressed;
            PressedAt = since;
        }

        return false;
    }

    private bool Release(TimeSpan at)
    {
        var acts = _state == ButtonState.Pressed && at - PressedAt >= ShortestPress;
        _state = ButtonState.Released;
        return acts;
    }
}
