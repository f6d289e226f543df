using Supervisor.Configuration.Machines;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Runtime.Outputs;

namespace Supervisor.Machine.Tests.Outputs;

/// <summary>A machine with outputs whose places are the test's: they confirm what is ordered at once, unless told otherwise.</summary>
internal sealed class OutputRig
{
    public OutputRig(MachineDefinition machine, bool isReady = true)
    {
        Rig = new MachineRig(machine);
        Places = [.. Rig.Board.Outputs.Cells.Select(cell => new Place(cell))];
        Run(50);
        Rig.Set("tray.input3", true);
        Run(150);
        Rig.Set("tray.input3", false);
        Run(20);
        Grant();
        if (isReady)
        {
            for (var axis = 0; axis < Rig.Board.Axes.Count; axis++)
            {
                ref var now = ref Rig.Axis(axis).Now;
                (now.State, now.TorqueOn, now.Referenced) = (Records.Axes.AxisState.Ready, true, true);
            }
        }

        Rig.Journal.Clear();
        Step();
    }

    public MachineRig Rig { get; }

    public Place[] Places { get; }

    /// <summary>Called before every step of the coordinator.</summary>
    public Action? Before { get; set; }

    public Machine.Api.AuthorityGrant? Authority { get; private set; }

    public void Step(int times = 1)
    {
        for (var i = 0; i < times; i++)
        {
            foreach (var place in Places)
            {
                place.Step(Rig.Now);
            }

            foreach (var chip in Rig.Board.Chips)
            {
                if (!IsChipHung)
                {
                    chip.Note(Rig.Now + MachineRig.Period);
                }
            }

            Before?.Invoke();
            Rig.Step();
        }
    }

    public bool IsChipHung { get; set; }

    public void Run(double ms) => Step((int)Math.Ceiling(ms / MachineRig.Period.TotalMilliseconds));

    public Machine.Api.CommandAnswer Do(Machine.Api.MachineCommand command, double withinMs = 10_000)
    {
        var ticket = Rig.Control.Submit(command, Authority);
        for (var left = withinMs; left > 0 && !ticket.Completion.IsCompleted; left -= MachineRig.Period.TotalMilliseconds)
        {
            Step();
        }

        return MachineRig.Answer(ticket);
    }

    private void Grant() => Authority = Rig.Control.TryAcquire("operator", out _);

    public static OutputDefinition Output(
        string name, OutputState atStop, OutputState atDisable, OutputState atFault, OutputState atLoss = OutputState.Off, OutputState? atStart = null, params int[] axes) => new(
            name, Gpio(name), axes, atStop, atDisable, atFault, atStart ?? (atLoss == OutputState.Hold ? OutputState.Hold : OutputState.Off), atLoss);

    public static OutputReference Gpio(string line) => new($"gpio:soc/{line}", OutputSource.Gpio, -1, -1) { Gpio = new GpioReference("soc", line) };

    /// <summary>The thread that owns a place.</summary>
    internal sealed class Place(OutputCell cell)
    {
        public OutputCell Cell => cell;

        /// <summary>Level of the wire.</summary>
        public bool On { get; set; }

        /// <summary>Levels it was given, in order.</summary>
        public List<bool> Given { get; } = [];

        /// <summary>It does not answer.</summary>
        public bool IsGone { get; set; }

        /// <summary>It answers, but does not follow.</summary>
        public bool IsStuck { get; set; }

        public void Step(TimeSpan now)
        {
            if (IsGone)
            {
                cell.Lose();
                return;
            }

            if (cell.Read().Known && cell.IsDue(out var order))
            {
                Given.Add(order.On);
                On = IsStuck ? On : order.On;
                if (On == order.On)
                {
                    cell.Acknowledge(order, now);
                    return;
                }
            }

            cell.Found(On, now);
        }
    }
}
