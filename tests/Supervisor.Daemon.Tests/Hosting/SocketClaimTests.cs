using System.Net.Sockets;
using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Tests.Hosting;

public sealed class SocketClaimTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("claim-").FullName;

    private string Path => System.IO.Path.Combine(_folder, "api.sock");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void TryTake_Held_IsRefusedAndSaysWhatToDo()
    {
        using var first = SocketClaim.TryTake(Path, out _);

        Assert.NotNull(first);
        Assert.Null(SocketClaim.TryTake(Path, out var problem));
        Assert.Contains("--socket", problem, StringComparison.Ordinal);
    }

    [Fact]
    public void TryTake_GivenBack_IsGranted()
    {
        SocketClaim.TryTake(Path, out _)!.Dispose();

        using var second = SocketClaim.TryTake(Path, out _);
        Assert.NotNull(second);
    }

    [Fact]
    public void TryTake_StaleSocket_RemovesIt()
    {
        using (var socket = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified))
        {
            socket.Bind(new UnixDomainSocketEndPoint(Path));

            // A killed process leaves the file; closing here would remove it.
            File.Move(Path, Path + ".kept");
        }

        File.Move(Path + ".kept", Path);

        using var claim = SocketClaim.TryTake(Path, out _);

        Assert.NotNull(claim);
        Assert.False(File.Exists(Path));
    }

    [Fact]
    public void TryTake_SomethingAnswers_IsRefusedAndLeftAlone()
    {
        using var other = new Socket(AddressFamily.Unix, SocketType.Stream, ProtocolType.Unspecified);
        other.Bind(new UnixDomainSocketEndPoint(Path));
        other.Listen();

        Assert.Null(SocketClaim.TryTake(Path, out var problem));
        Assert.Contains("answers", problem, StringComparison.Ordinal);
        Assert.True(File.Exists(Path));
    }

    [Fact]
    public void TryTake_AFileOfSomebody_IsRefusedAndLeftAsItIs()
    {
        File.WriteAllText(Path, "{ \"machine\": { \"name\": \"Press\" } }");

        Assert.Null(SocketClaim.TryTake(Path, out var problem));
        Assert.Contains(Path, problem, StringComparison.Ordinal);
        Assert.Contains("--socket", problem, StringComparison.Ordinal);
        Assert.Equal("{ \"machine\": { \"name\": \"Press\" } }", File.ReadAllText(Path));

        // Nothing of the claim is left either.
        File.Delete(Path);
        using var claim = SocketClaim.TryTake(Path, out _);
        Assert.NotNull(claim);
    }
}
