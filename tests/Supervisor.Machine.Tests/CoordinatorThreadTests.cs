using Supervisor.Bus;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Commands;
using Supervisor.Runtime;
using Supervisor.Runtime.Stops;

namespace Supervisor.Machine.Tests;

public sealed class CoordinatorThreadTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    [Fact]
    public void Stop_EndsTheThreadAndEveryCommandToCome()
    {
        var clock = new FakeClock();
        var coordinator = new Coordinator(new MachineBoard(Machines.Seeder()), new FakeJournal());
        var thread = new CoordinatorThread(coordinator, clock, error => Assert.Fail(error.ToString()));
        thread.Start();
        Assert.True(SpinWait.SpinUntil(() => thread.Heartbeat > TimeSpan.FromSeconds(1), Patience));
        Assert.True(thread.Stop(Patience));

        Assert.Equal(Refusal.ShuttingDown, MachineRig.Answer(coordinator.Control.Submit(new StopCommand([]), null)).Refusal);
        Assert.Equal(TimeSpan.Zero, TimeSpan.FromTicks(thread.Heartbeat.Ticks % TimeSpan.FromMilliseconds(5).Ticks));
    }

    [Fact]
    public void Step_Throws_StopsTheMachineAndTellsWhoAsked()
    {
        var clock = new FakeClock();
        var board = new MachineBoard(Machines.Seeder(interlocks: all => [all[2] with
        {
            Inputs = [new Configuration.Machines.InputReference("file:/x", Configuration.Machines.InputSource.File, -1, null, "/x")],
        }]));
        var coordinator = new Coordinator(board, new FakeJournal(), _ => throw new InvalidOperationException("broken reader"));
        Exception? told = null;
        var thread = new CoordinatorThread(coordinator, clock, error => Volatile.Write(ref told, error));
        thread.Start();
        Assert.True(SpinWait.SpinUntil(() => Volatile.Read(ref told) is not null, Patience));
        Assert.True(thread.Stop(Patience));
        Assert.True(board.Latch.IsStanding(StopCauses.ShutDown));
        Assert.Equal("broken reader", told!.Message);
    }

    /// <summary>A clock that jumps to whatever is waited for.</summary>
    private sealed class FakeClock : IMonotonicClock
    {
        private long _ticks = TimeSpan.TicksPerSecond;

        public TimeSpan Now => TimeSpan.FromTicks(Volatile.Read(ref _ticks));

        public void WaitUntil(TimeSpan deadline)
        {
            Volatile.Write(ref _ticks, Math.Max(deadline.Ticks, _ticks));
            Thread.Yield();
        }
    }
}
