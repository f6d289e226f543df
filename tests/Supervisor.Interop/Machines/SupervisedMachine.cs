using System.Runtime.Versioning;
using Supervisor.Bus;
using Supervisor.Bus.Links;
using Supervisor.Configuration.Machines;
using Supervisor.Interop.Peers;
using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Commands;
using Supervisor.Runtime;
using Supervisor.Runtime.Ports;

namespace Supervisor.Interop.Machines;

/// <summary>The whole supervisor below the API on a machine file: real threads, real links, the system's clock.</summary>
[SupportedOSPlatform("linux")]
internal sealed class SupervisedMachine : IDisposable
{
    // Of a computer on which everything else runs at the same time, too.
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private static readonly TimeSpan LookInterval = TimeSpan.FromMilliseconds(3);

    private readonly LinuxMonotonicClock _clock = new();
    private readonly CollectedJournal _journal = new();
    private readonly List<PortThread> _ports = [];
    private readonly Coordinator _coordinator;
    private readonly CoordinatorThread _thread;
    private readonly AuthorityGrant _grant;
    private volatile Exception? _broken;

    /// <summary>Reads the file, starts a thread for each port and the coordinator's, and takes the authority.</summary>
    public SupervisedMachine(string machineFile)
    {
        var file = MachineFile.Read(machineFile);
        Assert.True(file.IsGood, string.Join(Environment.NewLine, file.Errors));
        var board = new MachineBoard(file.Value!);
        _coordinator = new Coordinator(board, _journal);
        for (var port = 0; port < board.Machine.Ports.Count; port++)
        {
            var definition = board.Machine.Ports[port];
            var stepper = new PortStepper(board, port);
            _ports.Add(new PortThread(board, stepper, definition.Name, () => Open(definition.Device, stepper.Line), _clock, error => _broken = error) { Begins = FavouredProcess.RaiseThisThread });
        }

        _thread = new CoordinatorThread(_coordinator, _clock, error => _broken = error);
        _ports.ForEach(port => port.Start());
        _thread.Start();
        _grant = Control.TryAcquire("a test", out _)!;
    }

    /// <summary>The door.</summary>
    public MachineControl Control => _coordinator.Control;

    /// <summary>What was told so far.</summary>
    public CollectedJournal Journal => _journal;

    /// <summary>The machine's only axis, now.</summary>
    public AxisStatus Axis => Control.Status().Axes[0];

    /// <summary>An interlock, now.</summary>
    public InterlockStatus Interlock(string name) => Control.Status().Interlocks.Single(interlock => interlock.Name == name);

    /// <summary>Gives a command and does not wait for it.</summary>
    public CommandTicket Begin(MachineCommand command) => Control.Submit(command, _grant);

    /// <summary>How a command ends.</summary>
    public CommandAnswer End(CommandTicket ticket)
    {
        WaitFor($"the end of command {ticket.Id}", () => ticket.Completion.IsCompleted);
        return ticket.Completion.Result;
    }

    /// <summary>Gives a command and waits for its end, whatever it is.</summary>
    public CommandAnswer Run(MachineCommand command) => End(Begin(command));

    /// <summary>Gives a command that must be done.</summary>
    public CommandAnswer Do(MachineCommand command)
    {
        var answer = Run(command);
        Assert.True(answer.Outcome == Outcome.Done, $"{command}: {answer}{Environment.NewLine}{Describe()}");
        return answer;
    }

    /// <summary>Looks again and again until it is so.</summary>
    public void WaitFor(string what, Func<bool> isSo)
    {
        var bound = _clock.Now + Patience;
        while (!isSo())
        {
            Assert.True(_broken is null, $"A thread ended: {_broken}");
            Assert.True(_clock.Now < bound, $"Waited in vain for {what}.{Environment.NewLine}{Describe()}");
            _clock.WaitUntil(_clock.Now + LookInterval);
        }
    }

    /// <summary>Looks for a while and goes on when it does not become so.</summary>
    public bool ComesWithin(TimeSpan time, Func<bool> isSo)
    {
        var bound = _clock.Now + time;
        while (!isSo())
        {
            if (_clock.Now >= bound)
            {
                return false;
            }

            _clock.WaitUntil(_clock.Now + LookInterval);
        }

        return true;
    }

    /// <summary>Ends every thread; the axes are told to stop before.</summary>
    public void Dispose()
    {
        _coordinator.BeginShutDown(_clock.Now);
        ComesWithin(Patience, () => _coordinator.ShutDown is not { IsStopped: false, IsOverdue: false });
        var ended = _thread.Stop(PeerProcess.Patience);
        foreach (var port in _ports)
        {
            ended &= port.Stop();
        }

        Assert.True(ended, "A thread did not end.");
        Assert.True(_broken is null, $"A thread ended: {_broken}");
    }

    private static LinuxSerialLink? Open(string device, LineSettings line) =>
        SerialLink.Open(device, line).Link is { } link ? Assert.IsType<LinuxSerialLink>(link) : null;

    private string Describe()
    {
        var status = Control.Status();
        IEnumerable<object> parts = [.. status.Axes, .. status.Interlocks, .. status.Ports];
        return string.Join(Environment.NewLine, parts) + Environment.NewLine + _journal.Text;
    }
}
