using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Motion.Stopping;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// A jog moves only while its button is refreshed at least every 250 ms and its enabling input is closed: else the plant is at rest within
/// its stopping time and the line's reaction, and a press that has ended begins nothing.
/// </summary>
public sealed class Jogs : Checker
{
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(250);
    private readonly Watched[] _axes;

    public Jogs(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <summary>A planted bug: no button is ever refreshed.</summary>
    public bool ForgetsRefreshes { get; set; }

    /// <inheritdoc/>
    public override void OnKill()
    {
        foreach (var axis in _axes)
        {
            axis.Given = null;
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if (row.On is AxisEvent.MoveGiven or AxisEvent.HomeGiven or AxisEvent.EnableGiven)
        {
            _axes[axis].Given = null;
        }
    }

    /// <inheritdoc/>
    public override void OnTaken(int axis, in AxisRow row, GivenCommand? given)
    {
        if (row.On != AxisEvent.JogGiven)
        {
            return;
        }

        (_axes[axis].Given, _axes[axis].Coasting) = (given, TimeSpan.Zero);
        if (given is not { Command: JogCommand } || !given.Concerns(axis))
        {
            Find(axis, $"jogs for a press that nobody made: {given?.ToString() ?? "none"}");
        }
        else if (given.Answer is { } answer)
        {
            Find(axis, $"{given} began to move after its end: {answer}");
        }
        else if (HeldUntil(given) + World.Lines[World.Machine.Axes[axis].Port].Reaction < Now)
        {
            Find(axis, $"{given} began to move {(Now - HeldUntil(given)).TotalMilliseconds:0} ms after its end");
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            if (_axes[axis].Given is { } given)
            {
                LookForRest(axis, _axes[axis], given);
            }
        }
    }

    private void LookForRest(int axis, Watched watched, GivenCommand given)
    {
        NoteEnabling(axis, watched);
        var plant = World.Plant.Drives[axis].Plant;
        var definition = World.Machine.Axes[axis];
        var endedAt = HeldUntil(given) is var held && watched.OpenSince is { } open && open < held ? open : held;
        if (endedAt > Now)
        {
            return;
        }

        var line = World.Lines[definition.Port];
        if (Math.Abs(plant.Velocity) < definition.Limits.Velocity * 0.02)
        {
            // It has rested and what was on the wire at its end is done: what moves it now is something else, judged by whether anybody asked.
            watched.Given = Now - endedAt > line.Reaction ? null : given;
            return;
        }

        Looks++;
        if (!plant.Powered)
        {
            watched.Coasting += Supervisor.Scenarios.World.SupervisorProcess.CoordinatorPeriod;
        }

        var allowed = StopCalculation.StoppingTime(definition.Limits.Velocity, definition.Limits.Deceleration) + line.Reaction + Settling + watched.Coasting
            + (line.WasTroubledSince(endedAt) ? definition.CommunicationTimeout * 2 : TimeSpan.Zero)
            + (definition.EnablingInput is { } input && World.Lines[World.Machine.Axes[input.Axis].Port] is var other ? other.Reaction + Axis.JogLapse : TimeSpan.Zero);
        if (Now - endedAt > allowed)
        {
            Find(axis, $"{given} ended {(Now - endedAt).TotalMilliseconds:0} ms ago, and it still moves at {plant.Velocity:0.###}; {allowed.TotalMilliseconds:0} ms are allowed");
            watched.Given = null;
        }
    }

    private TimeSpan HeldUntil(GivenCommand given)
    {
        var lapses = (ForgetsRefreshes ? given.At : given.RefreshedAt) + Axis.JogLapse;
        return given.LetGoAt is { } at && at < lapses ? at : lapses;
    }

    private void NoteEnabling(int axis, Watched watched)
    {
        if (World.Machine.Axes[axis].EnablingInput is not { } input)
        {
            return;
        }

        var drive = World.Plant.Drives[input.Axis];
        var isClosed = drive.Axis.Drive.Inputs.Any(entry => entry.Value == input.Bit && drive.Input(entry.Key));
        watched.OpenSince = isClosed ? null : watched.OpenSince ?? Now;
    }

    private sealed class Watched
    {
        public GivenCommand? Given { get; set; }

        public TimeSpan? OpenSince { get; set; }

        public TimeSpan Coasting { get; set; }
    }
}
