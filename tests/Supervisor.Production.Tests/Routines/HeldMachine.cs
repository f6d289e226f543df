using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Production.Routines;

namespace Supervisor.Production.Tests.Routines;

/// <summary>Lets one command end when the test says so; the others are another machine's.</summary>
internal sealed class HeldMachine(FakeMachine machine, Task<CommandAnswer> answer, Func<MachineCommand, bool>? held = null) : IRoutineMachine
{
    private readonly TaskCompletionSource _submitted = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly List<MachineCommand> _commands = [];

    public MachineDefinition Machine => machine.Machine;

    /// <summary>Ends once the held command was submitted.</summary>
    public Task FirstSubmitted => _submitted.Task;

    public IReadOnlyList<MachineCommand> Commands
    {
        get
        {
            lock (_commands)
            {
                return [.. _commands];
            }
        }
    }

    public CommandTicket Submit(MachineCommand command)
    {
        lock (_commands)
        {
            _commands.Add(command);
        }

        if (_submitted.Task.IsCompleted || held is not null && !held(command))
        {
            return machine.Submit(command);
        }

        _submitted.SetResult();
        return new CommandTicket(1, Task.FromResult<CommandAnswer?>(null), answer);
    }

    public MachineStatus Status() => machine.Status();
}
