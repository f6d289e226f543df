using Supervisor.Machine.Api;
using Supervisor.Motion.Stopping;
using Supervisor.Runtime.Axes;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// After every trip and every request to stop the plant is at rest within the computed time: its stopping time at the limits, and the
/// reaction of its line. On a line that loses frames the drive's own communication time-out comes on top; without torque it runs out.
/// </summary>
public sealed class Stopping : Checker
{
    // The position loop lags behind its ramp, and the tail of a stop is slow.
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(250);
    private readonly Watched[] _axes;

    public Stopping(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _axes = [.. world.Machine.Axes.Select(_ => new Watched())];
    }

    /// <inheritdoc/>
    public override void OnStart()
    {
        var board = World.Supervisor!.Board;
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            _axes[axis].Trips = [.. Enumerable.Range(0, board.Causes.Count).Select(board.Latch.TripCount)];
            _axes[axis].Epoch = board.Latch.StopEpoch(axis);

            // A new supervisor stops what it meets: as with a trip, once it has opened its ports.
            Begin(axis, "the start of a supervisor", TimeSpan.FromSeconds(1));
        }
    }

    /// <inheritdoc/>
    public override void OnKill()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            Begin(axis, "the end of a supervisor", World.Machine.Axes[axis].CommunicationTimeout);
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            LookForTrips(axis);
            if (_axes[axis].Since is not null)
            {
                LookForRest(axis, _axes[axis]);
            }
        }
    }

    /// <inheritdoc/>
    public override void OnRow(int axis, in AxisRow row)
    {
        if (row.On is AxisEvent.MoveGiven or AxisEvent.JogGiven or AxisEvent.HomeGiven)
        {
            // A move may follow a halt before rest and a reset after it. Whether it may begin is judged by its frames.
            _axes[axis].Since = null;
            _axes[axis].MoveAt = Now;
            _axes[axis].Ramp = World.LastGiven(axis)?.Command is MoveCommand { Deceleration: { } ramp } && ramp > 0 ? ramp : null;
        }
    }

    /// <inheritdoc/>
    public override void OnAbsence()
    {
        for (var axis = 0; axis < _axes.Length; axis++)
        {
            if (_axes[axis].Since is not null)
            {
                LookForRest(axis, _axes[axis]);
            }
        }
    }

    /// <summary>A planted bug: a stop that the supervisor never hears of.</summary>
    public void PlantStop(int axis) => Begin(axis, "a stop nobody heard", TimeSpan.Zero);

    private void LookForTrips(int axis)
    {
        var latch = World.Supervisor!.Board.Latch;
        var watched = _axes[axis];
        var epoch = latch.StopEpoch(axis);
        if (epoch != watched.Epoch)
        {
            watched.Epoch = epoch;
            Begin(axis, "a request to stop", TimeSpan.Zero, holds: false);
        }

        var mask = World.Supervisor.Board.Causes.Mask(axis);
        for (var cause = 0; cause < watched.Trips.Length; cause++)
        {
            var trips = latch.TripCount(cause);
            if (trips != watched.Trips[cause])
            {
                watched.Trips[cause] = trips;
                if ((mask & (1UL << cause)) != 0)
                {
                    Begin(axis, $"a trip of cause {cause}", TimeSpan.Zero);
                }
            }
        }
    }

    private void Begin(int axis, string what, TimeSpan extra, bool holds = true)
    {
        var watched = _axes[axis];
        if (watched.Since is null)
        {
            extra += OwnRamp(axis, watched);
            (watched.Since, watched.What, watched.Extra, watched.Holds, watched.Coasting) = (Now, what, extra, holds, TimeSpan.Zero);
        }
    }

    /// <summary>
    /// A drive that has just taken a gentle move brakes on its ramp: the limit's is written once the move runs, or right behind a stop
    /// that comes before that. By then the axis has not gathered much speed.
    /// </summary>
    private TimeSpan OwnRamp(int axis, Watched watched)
    {
        var limits = World.Machine.Axes[axis].Limits;
        var reaction = World.Lines[World.Machine.Axes[axis].Port].Reaction;
        return watched.Ramp is { } ramp && Now - watched.MoveAt <= reaction
            ? StopCalculation.StoppingTime(Math.Min(limits.Velocity, limits.Acceleration * 2 * reaction.TotalSeconds), ramp)
            : TimeSpan.Zero;
    }

    private void LookForRest(int axis, Watched watched)
    {
        var speed = Speed(axis);
        if (speed <= Rest(axis))
        {
            // What was on the wire at the trip may still begin a motion. After a mere request to stop a new command may.
            var line = World.Lines[World.Machine.Axes[axis].Port];
            if (!watched.Holds || Now - watched.Since > line.Reaction)
            {
                watched.Since = null;
            }

            return;
        }

        Looks++;
        var since = watched.Since!.Value;
        var definition = World.Machine.Axes[axis];
        var condition = World.Lines[definition.Port];
        if (!World.Plant.Drives[axis].Plant.Powered)
        {
            // Runs out against its friction alone; how long is the plant's affair and not the supervisor's.
            watched.Coasting += Supervisor.Scenarios.World.SupervisorProcess.CoordinatorPeriod;
        }

        var allowed = StopCalculation.StoppingTime(definition.Limits.Velocity, definition.Limits.Deceleration)
            + condition.Reaction + Settling + watched.Extra + watched.Coasting
            + (condition.WasTroubledSince(since) ? definition.CommunicationTimeout + definition.CommunicationTimeout : TimeSpan.Zero);
        if (Now - since > allowed)
        {
            Find(axis, $"{(Now - since).TotalMilliseconds:0} ms after {watched.What} it still moves at {speed:0.###} {definition.Unit}/s; {allowed.TotalMilliseconds:0} ms are allowed");
            watched.Since = null;
        }
    }

    private double Speed(int axis) => Math.Abs(World.Plant.Drives[axis].Plant.Velocity);

    private double Rest(int axis) => World.Machine.Axes[axis].Limits.Velocity * 0.01;

    private sealed class Watched
    {
        public int[] Trips { get; set; } = [];

        public int Epoch { get; set; }

        public TimeSpan? Since { get; set; }

        public string What { get; set; } = "";

        public TimeSpan Extra { get; set; }

        public TimeSpan MoveAt { get; set; }

        /// <summary>The ramp of the last move where it has one of its own, unit/s².</summary>
        public double? Ramp { get; set; }

        public bool Holds { get; set; }

        public TimeSpan Coasting { get; set; }
    }
}
