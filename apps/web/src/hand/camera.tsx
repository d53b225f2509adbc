/** Reads a label by the camera; loaded when it is asked for. What the browser can read itself it reads, else a decoder is loaded. */
import { type ReactNode, useEffect, useRef, useState } from 'react'

interface BarcodeReader {
  detect(source: HTMLVideoElement): Promise<{ rawValue: string }[]>
}
type ReaderClass = { new (options: { formats: string[] }): BarcodeReader; getSupportedFormats(): Promise<string[]> }
type ReadFrame = (video: HTMLVideoElement) => Promise<string | null>

const PAUSE_MS = 120
/** Longer side of the picture that is looked at; a label of 20 mm at arm's length has some 4 pixels a module then. */
const LOOKED_AT_PX = 960

async function ownReader(): Promise<ReadFrame | null> {
  const Reader = (globalThis as { BarcodeDetector?: ReaderClass }).BarcodeDetector
  if (!Reader || !(await Reader.getSupportedFormats().catch((): string[] => [])).includes('qr_code')) return null
  const reader = new Reader({ formats: ['qr_code'] })
  return async (video) => (await reader.detect(video))[0]?.rawValue ?? null
}

async function loadedReader(): Promise<ReadFrame> {
  const { default: decode } = await import('jsqr')
  const canvas = document.createElement('canvas')
  const context = canvas.getContext('2d', { willReadFrequently: true })
  return async (video) => {
    const scale = Math.min(1, LOOKED_AT_PX / Math.max(video.videoWidth, video.videoHeight))
    canvas.width = Math.round(video.videoWidth * scale)
    canvas.height = Math.round(video.videoHeight * scale)
    if (!context || canvas.width === 0) return null
    context.drawImage(video, 0, 0, canvas.width, canvas.height)
    const { data, width, height } = context.getImageData(0, 0, canvas.width, canvas.height)
    return decode(data, width, height, { inversionAttempts: 'dontInvert' })?.data || null
  }
}

function whyNot(error: unknown): string {
  const name = error instanceof DOMException ? error.name : ''
  if (!globalThis.isSecureContext) return 'The camera works on an https address only. Type the code beside the picture on the label.'
  if (name === 'NotAllowedError')
    return 'The camera is not allowed for this page. Allow it in the browser’s settings of this page, or type the code on the label.'
  if (name === 'NotFoundError' || !navigator.mediaDevices) return 'No camera was found here. Type the code on the label.'
  return 'The camera could not be opened; another program may be using it. Type the code on the label.'
}

export default function Camera({ onScan, onClose }: { onScan: (text: string) => void; onClose: () => void }): ReactNode {
  const video = useRef<HTMLVideoElement>(null)
  const found = useRef(onScan)
  const [fault, setFault] = useState('')
  const [lamp, setLamp] = useState<MediaStreamTrack | null>(null)
  const [lit, setLit] = useState(false)
  useEffect(() => {
    found.current = onScan
  }, [onScan])
  useEffect(() => {
    let stream: MediaStream | null = null
    let gone = false
    const look = async (): Promise<void> => {
      const opened = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: { ideal: 'environment' }, width: { ideal: 1280 } },
        audio: false,
      })
      const shown = video.current
      if (gone || !shown) return opened.getTracks().forEach((track) => track.stop())
      stream = opened
      shown.srcObject = opened
      await shown.play()
      const [track] = opened.getVideoTracks()
      if (track && 'torch' in (track.getCapabilities?.() ?? {})) setLamp(track)
      const read = (await ownReader()) ?? (await loadedReader())
      while (!gone) {
        const text = await read(shown).catch(() => null)
        if (text && !gone) return found.current(text)
        await new Promise((later) => setTimeout(later, PAUSE_MS))
      }
    }
    look().catch((error: unknown) => !gone && setFault(whyNot(error)))
    return () => {
      gone = true
      stream?.getTracks().forEach((track) => track.stop())
    }
  }, [])
  const light = (): void => {
    const on = !lit
    void lamp?.applyConstraints({ advanced: [{ torch: on } as MediaTrackConstraintSet] }).then(() => setLit(on))
  }
  return (
    <section className="part" aria-label="Camera">
      {fault ? (
        <p className="note alarmed" role="alert">
          {fault}
        </p>
      ) : (
        <>
          <p role="status">Hold the label into the picture.</p>
          <video ref={video} className="camera" muted playsInline aria-label="What the camera sees" />
        </>
      )}
      <div className="stack">
        {lamp && !fault ? (
          <button onClick={light} aria-pressed={lit}>
            {lit ? 'Lamp off' : 'Lamp on'}
          </button>
        ) : null}
        <button onClick={onClose}>Close the camera</button>
      </div>
    </section>
  )
}
