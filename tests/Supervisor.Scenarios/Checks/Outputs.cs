using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// A named output is at its place what it is told to be; done means that it is so; it follows its axes' faults, stops and disabling as the file
/// says; and it never switches on unless somebody ordered that of late or the file holds it on.
/// </summary>
public sealed class Outputs : Checker
{
    private static readonly TimeSpan Settling = TimeSpan.FromMilliseconds(300);

    // What changed by itself is found by the next look at a module, or at a drive's uptime; a place that was lost is met anew.
    private static readonly TimeSpan Found = TimeSpan.FromSeconds(6);

    // An order that can't be confirmed is tried again until it can be, as long as its place answers.
    private static readonly TimeSpan Ordered = TimeSpan.FromSeconds(30);

    private readonly Watched[] _outputs;
    private TimeSpan _startedAt;

    public Outputs(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _outputs = [.. world.Machine.Outputs.Select(_ => new Watched())];
    }

    /// <summary>A planted bug: levels are read from the place beside.</summary>
    public bool MistakesPlaces { get; set; }

    /// <inheritdoc/>
    public override void OnStart()
    {
        _startedAt = Now;
        foreach (var output in _outputs)
        {
            (output.WrongSince, output.Hold) = (null, null);
        }
    }

    /// <inheritdoc/>
    public override void OnCommand(GivenCommand given)
    {
        if (Index(given.Command) is >= 0 and var index)
        {
            _outputs[index].Last = given;
            _outputs[index].OnOrderedAt = ((SetOutputCommand)given.Command).On ? Now : _outputs[index].OnOrderedAt;
        }
    }

    /// <inheritdoc/>
    public override void OnEnd(GivenCommand given)
    {
        if (given.Answer!.Outcome == Outcome.Done && Index(given.Command) is >= 0 and var index && _outputs[index].Last == given
            && _outputs[index].Hold is null && !IsExcused(index) && Now - _outputs[index].HeldAt > Settling)
        {
            Looks++;
            if (Level(index) != ((SetOutputCommand)given.Command).On)
            {
                Find(-1, $"{given} is done, and {World.Machine.Outputs[index].Place.Text} is {(Level(index) ? "on" : "off")}");
            }
        }
    }

    /// <inheritdoc/>
    public override void OnAbsence()
    {
        for (var i = 0; i < _outputs.Length; i++)
        {
            LookForSwitchingOn(i, _outputs[i]);
        }
    }

    /// <inheritdoc/>
    public override void OnStep()
    {
        for (var i = 0; i < _outputs.Length; i++)
        {
            NoteHold(i, _outputs[i]);
            LookForSwitchingOn(i, _outputs[i]);
            LookAtLevel(i, _outputs[i]);
        }
    }

    /// <summary>What is told of it, and what the file holds it at, against its place.</summary>
    private void LookAtLevel(int index, Watched output)
    {
        var reading = World.Supervisor!.Board.Outputs.Cells[index].Read();
        var level = Level(index);
        output.ExcusedAt = IsExcused(index) ? Now : output.ExcusedAt;
        var isWrong = reading.Known && (reading.On != level || (output.Hold is { } hold && hold != level));
        if (!isWrong)
        {
            output.WrongSince = null;
            return;
        }

        Looks++;
        output.WrongSince ??= Now;
        var allowed = World.Lines[Port(index)].Reaction + Settling + World.HeldUpFor;
        if (Now - output.WrongSince > allowed && Now - output.ExcusedAt > Found + allowed)
        {
            Find(-1, $"{World.Machine.Outputs[index].Name} is told to be {(reading.On ? "on" : "off")}{(output.Hold is { } held ? $" and is to be held {(held ? "on" : "off")}" : "")}; for {(Now - output.WrongSince.Value).TotalMilliseconds:0} ms {World.Machine.Outputs[index].Place.Text} is {(level ? "on" : "off")}");
            output.WrongSince = null;
        }
    }

    private void LookForSwitchingOn(int index, Watched output)
    {
        var level = Level(index);
        if (level && !output.WasOn)
        {
            Looks++;
            var late = Now - output.ExcusedAt < Found ? Ordered : Found;
            if (output.Hold != true && Now - output.HeldOnAt > late && Now - output.OnOrderedAt > late)
            {
                Find(-1, $"{World.Machine.Outputs[index].Place.Text} switched on; {World.Machine.Outputs[index].Name} was last ordered on at {output.OnOrderedAt.TotalSeconds:0.000} s");
            }
        }

        output.WasOn = level;
    }

    /// <summary>What the machine file says of its axes as they are shown: a fault goes before a stop, a stop before disabling.</summary>
    private void NoteHold(int index, Watched output)
    {
        var definition = World.Machine.Outputs[index];
        var board = World.Supervisor!.Board;
        var standing = board.Latch.Standing();
        var hold = Of(definition.AtFault, axis => World.Snapshot(axis).State == AxisState.Faulted)
            ?? Of(definition.AtStop, axis => board.Latch.IsLocked(axis) || (standing & board.Causes.Mask(axis)) != 0)
            ?? Of(definition.AtDisable, axis => World.Snapshot(axis).State == AxisState.Disabled);
        if (hold != output.Hold)
        {
            (output.Hold, output.WrongSince) = (hold, null);
        }

        output.HeldAt = hold is null ? output.HeldAt : Now;
        output.HeldOnAt = hold == true ? Now : output.HeldOnAt;

        bool? Of(OutputState state, Func<int, bool> applies) => state != OutputState.Hold && definition.Axes.Any(applies) ? state == OutputState.On : null;
    }

    private int Index(MachineCommand command) => command is SetOutputCommand set
        ? set.Axis < 0
            ? World.Machine.Outputs.ToList().FindIndex(output => output.Name == set.Output)
            : World.Machine.Outputs.ToList().FindIndex(output => set.Axis < World.Machine.Axes.Count && output.Place.Text == $"{World.Machine.Axes[set.Axis].Name}.{set.Output}")
        : -1;

    private bool Level(int index)
    {
        var place = World.Machine.Outputs[index].Place;
        if (place.Module is { } bit)
        {
            var levels = World.Plant.Modules[bit.Module].Outputs;
            return levels[MistakesPlaces ? (bit.Bit + 1) % levels.Length : bit.Bit];
        }

        var drive = World.Plant.Drives[place.Axis];
        var outputs = drive.Axis.Drive.Outputs;
        return drive.Output(outputs.ElementAt(MistakesPlaces ? (place.Output + 1) % outputs.Count : place.Output).Key);
    }

    private int Port(int index) => World.Machine.Outputs[index].Place is { Module: { } bit } ? World.Machine.Modules[bit.Module].Port : World.Machine.Axes[World.Machine.Outputs[index].Place.Axis].Port;

    /// <summary>Its place is out of reach, has just started anew, or can't do as it is told.</summary>
    private bool IsExcused(int index)
    {
        var place = World.Machine.Outputs[index].Place;
        if (Now - _startedAt < Settling || World.Lines[Port(index)].IsTroubled)
        {
            return true;
        }

        if (place.Module is not { } bit)
        {
            return World.Plant.Drives[place.Axis].IsSilent;
        }

        var module = World.Plant.Modules[bit.Module];
        return module.IsSilent || module.IsStubborn || module.Shorted.Contains(bit.Bit);
    }

    private sealed class Watched
    {
        public GivenCommand? Last { get; set; }

        public TimeSpan OnOrderedAt { get; set; } = TimeSpan.MinValue / 2;

        public TimeSpan HeldAt { get; set; } = TimeSpan.MinValue / 2;

        public TimeSpan HeldOnAt { get; set; } = TimeSpan.MinValue / 2;

        public TimeSpan ExcusedAt { get; set; } = TimeSpan.MinValue / 2;

        public bool? Hold { get; set; }

        public TimeSpan? WrongSince { get; set; }

        public bool WasOn { get; set; }
    }
}
