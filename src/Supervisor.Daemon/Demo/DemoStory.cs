using Supervisor.Api.V1;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Client;
using static Supervisor.Daemon.Demo.DemoOperator;

namespace Supervisor.Daemon.Demo;

/// <summary>What happens in the demo, in order, with what must be seen at each point. Nothing is staged: a person with the verbs and the bench's lines can do the same.</summary>
internal sealed class DemoStory(MachineDefinition machine, DemoOperator hand, Func<CancellationToken, Task> runCycle)
{
    private const double SlowCrossing = 150;

    /// <summary>Cycles that came to their end.</summary>
    public int CyclesDone { get; private set; }

    /// <summary>Told when an axis looked for its zero before one that goes first had found its own.</summary>
    public string? HomingOutOfOrder { get; private set; }

    public async Task PlayAsync(int cycles, CancellationToken cancellation)
    {
        await StartAsync(cancellation);
        for (var cycle = 1; cycle <= cycles; cycle++)
        {
            await CycleAsync(cycle, cycles, cancellation);
            if (cycle == 1)
            {
                await GuardAsync(cancellation);
            }

            if (cycle == Math.Min(2, cycles))
            {
                await LineAsync(cancellation);
            }
        }

        await hand.MustBeRefusedAsync(
            "move dibber 999999", hand.MoveAsync(DemoFiles.Dibber, 999_999, null, cancellation), "POSITION_LIMIT");
        await MustDoAsync("disable", hand.DisableAsync(cancellation));
        hand.Voice.Say("all axes disabled: brakes closed, torque off");
    }

    /// <summary>Looks at every status for the order of homing.</summary>
    public void Watch(MachineStatus status)
    {
        for (var axis = 0; axis < status.Axes.Count; axis++)
        {
            if (status.Axes[axis].State != AxisState.Homing || machine.Axes[axis].Homing is not { } homing)
            {
                continue;
            }

            for (var earlier = 0; earlier < status.Axes.Count; earlier++)
            {
                if (machine.Axes[earlier].Homing is { } first && first.Order < homing.Order && !status.Axes[earlier].Referenced)
                {
                    HomingOutOfOrder ??= $"{status.Axes[axis].Name} was homed before {status.Axes[earlier].Name}";
                }
            }
        }
    }

    private async Task StartAsync(CancellationToken cancellation)
    {
        await hand.SeeAsync("every drive answer", status => status.Axes.All(axis => axis.Online), cancellation);
        hand.Voice.Say($"every drive answers: {string.Join(", ", machine.Axes.Select(axis => axis.Name))}");

        await hand.PressResetAsync(cancellation);
        var status = await hand.SeeAsync(
            "emergency stop and guard reset",
            now => Wired().All(i => now.Interlocks[i] is { Open: false, NeedsReset: false }),
            cancellation);
        hand.Voice.Say("reset button pressed at the machine: emergency stop and guard are reset");
        if (!status.MotionPermitted)
        {
            await MustDoAsync("reset", hand.ResetAsync(cancellation));
            await hand.SeeAsync("motion permitted", now => now.MotionPermitted, cancellation);
        }

        hand.Voice.Say("homing, the dibber first: it must be out of the soil before the head crosses");
        await MustDoAsync("home", hand.HomeAsync(cancellation));
        if (HomingOutOfOrder is { } wrong)
        {
            throw new DemoFailedException(wrong);
        }

        await MustDoAsync("enable", hand.EnableAsync(machine.Axes.Select(axis => axis.Name), cancellation));
        await hand.SeeAsync("every axis ready", now => now.Axes.All(axis => axis is { State: AxisState.Ready, Referenced: true }), cancellation);
        hand.Voice.Say("every axis is ready and referenced");
    }

    private async Task CycleAsync(int cycle, int cycles, CancellationToken cancellation)
    {
        hand.Voice.Say($"tray {cycle} of {cycles} begins");
        await runCycle(cancellation);
        CyclesDone++;
        hand.Voice.Say($"tray {cycle} of {cycles} sown");
    }

    private async Task GuardAsync(CancellationToken cancellation)
    {
        await MustDoAsync("move gantry", hand.MoveAsync(DemoFiles.Gantry, 50, null, cancellation));
        var crossing = hand.MoveAsync(DemoFiles.Gantry, 750, SlowCrossing, cancellation);
        await hand.SeeAsync("the gantry cross", status => Axis(status, DemoFiles.Gantry) is { State: AxisState.Moving, Position: > 100 }, cancellation);
        hand.Voice.Say("the front guard is opened while the gantry crosses");
        await hand.Bench.DoAsync($"input {DemoFiles.GuardInput} 0", cancellation);

        var result = await crossing;
        if (result.Ended is not { Outcome: Outcome.Replaced } ended)
        {
            throw new DemoFailedException($"the open guard should have stopped the gantry, but its move ended with: {Words(result)}");
        }

        var stopped = await hand.SeeAsync(
            "the head stopped and switched off",
            status => Axis(status, DemoFiles.Gantry).State == AxisState.Disabled && Axis(status, DemoFiles.Dibber).State == AxisState.Disabled,
            cancellation);
        hand.Voice.Say($"ordered stop at {Axis(stopped, DemoFiles.Gantry).Position:0.0} mm, torque off: {ended.Message}");

        await hand.MustBeRefusedAsync("restart with the guard open", EnableHead(cancellation), "INTERLOCK_OPEN");
        await hand.Bench.DoAsync($"input {DemoFiles.GuardInput} 1", cancellation);
        await hand.SeeAsync("the guard closed", status => !Interlock(status, DemoFiles.Guard).Open, cancellation);
        hand.Voice.Say("the guard is closed again; nothing moves by itself");
        await hand.MustBeRefusedAsync("restart without a reset", EnableHead(cancellation), "INTERLOCK_NEEDS_RESET");

        await hand.PressResetAsync(cancellation);
        await hand.SeeAsync("the guard reset", status => Interlock(status, DemoFiles.Guard) is { NeedsReset: false }, cancellation);
        hand.Voice.Say("reset button pressed at the machine: now a command may restart it");
        await MustDoAsync("enable gantry dibber", EnableHead(cancellation));
        await MustDoAsync("move gantry", hand.MoveAsync(DemoFiles.Gantry, 750, null, cancellation));
        hand.Voice.Say("restarted by command; the gantry has crossed");
    }

    private async Task LineAsync(CancellationToken cancellation)
    {
        await hand.SeeAsync("the dibber ready", status => Axis(status, DemoFiles.Dibber).State == AxisState.Ready, cancellation);
        hand.Voice.Say($"{DemoFiles.Line} is unplugged");
        await hand.Bench.DoAsync($"unplug {DemoFiles.Line}", cancellation);
        var lost = await hand.SeeAsync("the dibber faulted", status => Axis(status, DemoFiles.Dibber).State == AxisState.Faulted, cancellation);
        var fault = Axis(lost, DemoFiles.Dibber).Fault;
        if (fault != "LINK_LOST")
        {
            throw new DemoFailedException($"the dibber should have a lost link, but has {fault}");
        }

        hand.Voice.Say("dibber faulted: link lost; its drive stops by its own time-out, its brake holds");
        await hand.Bench.DoAsync($"plug {DemoFiles.Line}", cancellation);
        hand.Voice.Say($"{DemoFiles.Line} is plugged in again");
        await hand.SeeAsync(
            "the dibber come back by itself", status => Axis(status, DemoFiles.Dibber) is { State: AxisState.Ready, Referenced: true, Fault: "" }, cancellation);
        hand.Voice.Say("dibber came back as the machine file states: fault reset, homed, ready");
    }

    private Task<CommandResult> EnableHead(CancellationToken cancellation) => hand.EnableAsync([DemoFiles.Gantry, DemoFiles.Dibber], cancellation);

    /// <summary>Interlocks that are reset at the machine.</summary>
    private IEnumerable<int> Wired() => Enumerable.Range(0, machine.Interlocks.Count).Where(i => machine.Interlocks[i].ResetInput is not null);

    private static AxisStatus Axis(MachineStatus status, string name) => status.Axes.First(axis => axis.Name == name);

    private static InterlockStatus Interlock(MachineStatus status, string name) => status.Interlocks.First(interlock => interlock.Name == name);
}
