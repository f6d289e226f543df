using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Machine.Modes;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Parameters;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>Sets of parameters: people who read them and load them into drives, and what befalls drives and supervisors meanwhile; drives that lock themselves.</summary>
public sealed class LoadLife(StoryWorld world, Dice dice, People people, BoardTroubles board)
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(20);
    private readonly int[] _axes = [.. Enumerable.Range(0, world.Machine.Axes.Count).Where(axis => Writable(world.Machine.Axes[axis]).Any())];
    private readonly int[] _locked = [.. Enumerable.Range(0, world.Machine.Axes.Count).Where(axis => world.Machine.Axes[axis].Drive.Unlock is not null)];
    private readonly ParameterEntry[]?[] _last = new ParameterEntry[world.Machine.Axes.Count][];

    /// <summary>Somebody loads a set into a drive, as one does or in the midst of work; at times something comes between.</summary>
    public void Load()
    {
        if (_axes.Length > 0 && dice.Pick(_axes) is var axis)
        {
            var entries = Draw(world.Machine.Axes[axis]);
            Prepare(axis, () => Post(axis, entries, writes: true, isDisturbed: dice.Chance(0.5)));
        }
    }

    /// <summary>Somebody reads what a drive has.</summary>
    public void ReadOut()
    {
        if (_axes.Length > 0 && dice.Pick(_axes) is var axis)
        {
            Post(axis, _last[axis] ?? Draw(world.Machine.Axes[axis]), writes: false, isDisturbed: false);
        }
    }

    /// <summary>Somebody who knows what a fault asks for loads again what was loaded only in part.</summary>
    public void Repair()
    {
        foreach (var axis in _axes)
        {
            if (world.Supervisor is not null && world.Snapshot(axis).Fault == FaultCode.ParametersIncomplete && _last[axis] is { } entries)
            {
                Prepare(axis, () => Post(axis, entries, writes: true, isDisturbed: dice.Chance(0.1)));
                return;
            }
        }
    }

    /// <summary>A drive locks itself, and may be slow to take commands after its keys.</summary>
    public void Lock()
    {
        if (_locked.Length > 0 && dice.Pick(_locked) is var axis)
        {
            world.Happen("drive locked itself", world.Machine.Axes[axis].Name);
            world.Drive(axis).UnlockDelay = dice.Chance(0.5) ? TimeSpan.Zero : dice.Seconds(0, 1.5);
            world.Drive(axis).Lock();
        }
    }

    private static IEnumerable<RegisterField> Writable(AxisDefinition axis) =>
        axis.Drive.SaveParameters is null ? [] : axis.Drive.Parameters.Where(field => field.Name is "gain" or "loop" or "filter" or "damping" or "positionGain" or "velocityGain");

    /// <summary>Values as they may come from a file: those that the machine file fixes as it does, the others as somebody tuned them.</summary>
    private ParameterEntry[] Draw(AxisDefinition axis)
    {
        var fields = Writable(axis).Where(_ => dice.Chance(0.8)).ToArray();
        fields = fields.Length > 0 ? fields : [Writable(axis).First()];
        return [.. fields.OrderBy(_ => dice.Next()).Select(field => new ParameterEntry(
            (short)axis.Drive.Parameters.ToList().IndexOf(field),
            axis.Parameters.FirstOrDefault(fixedOne => fixedOne.Field.Name == field.Name) is { } known ? (uint)Math.Round(known.Value / field.Scale) : (uint)dice.Below(1000)))];
    }

    private void Prepare(int axis, Action then)
    {
        if (dice.Chance(0.85))
        {
            people.StandBack(dice.Seconds(4, 8));
            people.Give(new HaltCommand([]));
            world.Queue.After(dice.Seconds(0.5, 1.5), () =>
            {
                people.Give(new ChooseModeCommand(MachineMode.Maintenance));
                people.Give(new DisableCommand([axis]));
            });
            world.Queue.After(dice.Seconds(6, 20), () => people.Give(new ChooseModeCommand(MachineMode.Production)));
        }

        world.Queue.After(dice.Seconds(1, 3), then);
    }

    private void Post(int axis, ParameterEntry[] entries, bool writes, bool isDisturbed)
    {
        if (world.Supervisor is not { } supervisor)
        {
            return;
        }

        var job = new ParameterJob(entries, writes) { Saves = writes, ExpectedSerial = dice.Chance(0.1) ? 1 : null };
        var control = supervisor.Coordinator.Control;
        if (control.ObjectionTo(axis, job, people.Grant) is not null || (writes && !world.Loads.TryBegin(axis, job)))
        {
            world.Tally.Add("parameters: not posted");
            return;
        }

        world.Posted(axis, job);
        if (control.Post(axis, job, people.Grant) is not null)
        {
            world.Loads.Settle(axis, wasPosted: false);
            return;
        }

        _last[axis] = writes ? entries : _last[axis];
        Follow(axis, job, supervisor);
        if (isDisturbed && dice.Chance(0.5))
        {
            world.Queue.After(dice.Seconds(0.02, 0.8), () => Disturb(axis));
        }
        else if (isDisturbed)
        {
            DisturbAfter(dice.Below(entries.Length), axis, job);
        }
    }

    /// <summary>Comes between once so many of its parameters are done.</summary>
    private void DisturbAfter(int parameters, int axis, ParameterJob job)
    {
        if (job.Completed > parameters)
        {
            Disturb(axis);
        }
        else if (!job.HasEnded)
        {
            world.Queue.After(TimeSpan.FromMilliseconds(5), () => DisturbAfter(parameters, axis, job));
        }
    }

    private void Follow(int axis, ParameterJob job, object supervisor)
    {
        if (!ReferenceEquals(world.Supervisor, supervisor))
        {
            world.Tally.Add("parameters: supervisor lost");
        }
        else if (!job.HasEnded)
        {
            world.Queue.After(Look, () => Follow(axis, job, supervisor));
        }
        else
        {
            world.Tally.Add($"parameters: {(job.Writes ? "load" : "reading")} {job.State}{(job.State == ParameterJobState.Done ? "" : $" {job.Refusal}")}");
            world.Diary.Note(world.Queue.Now, $"{world.Machine.Axes[axis].Name} {(job.Writes ? "load" : "reading")} ended:", job.State);
            world.Loads.Settle(axis);
        }
    }

    private void Disturb(int axis)
    {
        world.Happen("something in a load", world.Machine.Axes[axis].Name);
        switch (dice.Below(6))
        {
            case 0 or 1:
                board.CrashSupervisor();
                break;
            case 2:
                world.Drive(axis).Restart();
                break;
            case 3:
                world.Drive(axis).BusyAnswers = 1 + dice.Below(30);
                break;
            case 4:
                people.Give(new EnableCommand([axis]));
                break;
            default:
                var line = world.Plant.Lines[world.Machine.Axes[axis].Port];
                line.IsUnplugged = true;
                world.Queue.After(dice.Seconds(0.02, 3), () => line.IsUnplugged = false);
                break;
        }
    }
}
