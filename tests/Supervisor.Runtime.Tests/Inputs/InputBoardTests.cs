using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Inputs;
using Supervisor.Runtime.Tests.Support;

namespace Supervisor.Runtime.Tests.Inputs;

public sealed class InputBoardTests
{
    private static readonly TimeSpan Stale = TimeSpan.FromMilliseconds(100);

    [Fact]
    public void Input_NeverRead_IsStale()
    {
        var board = Board();
        Assert.False(board.Read(0).Known);
        Assert.True(board.Read(0).IsStale(At(1), Stale));
    }

    [Fact]
    public void Input_KeepsWhenItChanged_AndGrowsStale()
    {
        var board = Board();
        board.Write(0, true, At(10));
        board.Write(0, true, At(50));
        Assert.Equal((At(50), At(10), true), (board.Read(0).At, board.Read(0).ChangedAt, board.Read(0).Closed));
        board.Write(0, false, At(60));
        Assert.Equal(At(60), board.Read(0).ChangedAt);
        Assert.False(board.Read(0).IsStale(At(160), Stale));
        Assert.True(board.Read(0).IsStale(At(161), Stale));
    }

    [Fact]
    public void Input_UsedTwice_HasOneCell()
    {
        var machine = Parts.Machine(Parts.Axis("a")) with
        {
            Interlocks = [Parts.Interlock("guard", InterlockKind.Guard, 1, [0], 0), Parts.Interlock("vacuum", InterlockKind.Process, 2, [0], 0)],
        };
        var board = new InputBoard(machine);
        Assert.Single(board.Inputs);
        Assert.Equal(0, board.IndexOf(machine.Interlocks[1].Inputs[0]));
    }

    private static InputBoard Board() => new(Parts.Machine(Parts.Axis("a")) with { Interlocks = [Parts.Interlock("guard", InterlockKind.Guard, 1, [0], 0)] });

    private static TimeSpan At(double milliseconds) => TimeSpan.FromMilliseconds(milliseconds);
}
