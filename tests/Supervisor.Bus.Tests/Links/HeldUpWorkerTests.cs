using System.Runtime.InteropServices;
using System.Runtime.Versioning;
using Supervisor.Bus.Links;
using Supervisor.Bus.Tests.Support;

namespace Supervisor.Bus.Tests.Links;

/// <summary>
/// A computer that is so busy that the kernel's worker does not come to hand on the bytes of a terminal: threads of real-time priority keep all
/// processors for a moment, as nothing else holds that worker up for certain. What is asked is an order, not a time: the wait ends while they still do.
/// </summary>
[SupportedOSPlatform("linux")]
public sealed partial class HeldUpWorkerTests : IDisposable
{
    /// <summary>SCHED_FIFO, the same on all architectures.</summary>
    private const int Fifo = 1;

    private const int HolderLevel = 1;
    private const int ReaderLevel = 2;
    private const int Attempts = 10;

    // A moment: others wait meanwhile, and the kernel itself ends it after 0.95 s (sched(7)).
    private static readonly TimeSpan LongestHold = TimeSpan.FromMilliseconds(200);

    private readonly LinuxMonotonicClock _clock = new();
    private readonly PseudoTerminal _line = PseudoTerminal.Open();
    private int _holding;
    private volatile bool _mayGo;
    private volatile bool _haveGone;

    public void Dispose() => _line.Dispose();

    [Fact]
    public void Read_BytesHeldUpInTheKernel_EndsAtItsDeadlineAndLosesNone()
    {
        using var link = LinuxSerialLink.Open(_line.Device, Lines.Usual).Link!;
        byte[] bytes = [1, 2, 3];
        var input = new byte[8];
        var heldUp = 0;
        for (var attempt = 0; attempt < Attempts && heldUp == 0; attempt++)
        {
            // Where the worker came by after all, or the whole computer stood still meanwhile, nothing is to be seen: once more.
            heldUp += EndsWhileHeld(link, bytes, input, out var count) ? 1 : 0;
            while (count < bytes.Length)
            {
                Assert.Equal(LinkStatus.Ok, link.Read(input.AsSpan(count), _clock.Now + TimeSpan.FromSeconds(60), out var more));
                count += more;
            }

            Assert.Equal(bytes, input[..count]);
        }

        Assert.True(heldUp == 1, "each read that met bytes on their way waited for the kernel's worker");
    }

    /// <summary>True when the read ended without any byte while the processors were held.</summary>
    private bool EndsWhileHeld(ILink link, byte[] bytes, byte[] input, out int count)
    {
        (_holding, _mayGo, _haveGone) = (0, false, false);
        var status = LinkStatus.Gone;
        var read = 0;
        bool? isPermitted = null;
        var ended = false;
        var reader = new Thread(() =>
        {
            isPermitted = SetScheduler(0, Fifo, ReaderLevel) == 0;
            var holders = Enumerable.Range(0, isPermitted.Value ? Environment.ProcessorCount : 0).Select(_ => new Thread(Hold)).ToArray();
            Array.ForEach(holders, static holder => holder.Start());
            while (Volatile.Read(ref _holding) < holders.Length)
            {
                _clock.WaitUntil(_clock.Now + TimeSpan.FromMilliseconds(1));
            }

            _line.Far.Write(bytes, _clock.Now);
            status = link.Read(input, _clock.Now + TimeSpan.FromMilliseconds(5), out read);
            ended = !_haveGone;
            _mayGo = true;
            Array.ForEach(holders, static holder => holder.Join());
        });
        reader.Start();
        reader.Join();
        count = read;
        Assert.SkipUnless(isPermitted == true, "threads of real-time priority take CAP_SYS_NICE or LimitRTPRIO");
        return ended && status == LinkStatus.TimedOut;
    }

    private void Hold()
    {
        _ = SetScheduler(0, Fifo, HolderLevel);
        var until = _clock.Now + LongestHold;
        Interlocked.Increment(ref _holding);
        while (!_mayGo && _clock.Now < until)
        {
        }

        _haveGone = true;
    }

    /// <summary>The third argument points at struct sched_param, whose one member is the priority.</summary>
    [LibraryImport("libc", EntryPoint = "sched_setscheduler")]
    private static partial int SetScheduler(int thread, int policy, in int priority);
}
